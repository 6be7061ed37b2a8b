/* Rules for our own scripts: strict classic scripts that open from a file, small functions, no evaluated text. */
import js from "@eslint/js";

const BROWSER = [
  "AbortController", "Blob", "FileReader", "MutationObserver", "ResizeObserver", "URL", "atob", "cancelAnimationFrame",
  "clearTimeout", "document", "fetch", "performance", "requestAnimationFrame", "setTimeout", "window",
];
const readonly = (names) => Object.fromEntries(names.map((name) => [name, "readonly"]));

const rules = {
  "arrow-body-style": "error",
  "complexity": ["error", 12],
  "consistent-return": "error",
  "eqeqeq": "error",
  "func-style": ["error", "expression"],
  "max-depth": ["error", 3],
  "max-lines": ["error", 300],
  "max-lines-per-function": ["error", { max: 35, skipBlankLines: true, skipComments: true, IIFEs: false }],
  "max-params": ["error", 6],
  "no-eval": "error",
  "no-implicit-globals": "error",
  "no-implied-eval": "error",
  "no-invalid-this": "error",
  "no-new-func": "error",
  "no-restricted-properties": ["error", ...["innerHTML", "outerHTML", "insertAdjacentHTML"].map(
    (property) => ({ property, message: "Text goes in as text." }),
  ), { object: "document", property: "write" }],
  "no-script-url": "error",
  "no-shadow": "error",
  "no-unused-vars": "error",
  "no-var": "error",
  "object-shorthand": "error",
  "prefer-arrow-callback": "error",
  "prefer-const": "error",
  "prefer-template": "error",
  "strict": ["error", "global"],
};

export default [
  { linterOptions: { reportUnusedDisableDirectives: "error" } },
  js.configs.recommended,
  {
    files: ["viz3d/web/static/*.js"],
    languageOptions: { ecmaVersion: 2022, sourceType: "script", globals: { ...readonly(BROWSER), THREE: "readonly" } },
    rules,
  },
  {
    files: ["tests/web/**/*.js"],
    languageOptions: { ecmaVersion: 2022, sourceType: "commonjs", globals: readonly(["Buffer", "__dirname", "console", "module", "process", "require"]) },
    rules: { ...rules, "max-lines-per-function": "off" },
  },
  {
    files: ["tests/web/*.mjs"],
    languageOptions: { ecmaVersion: 2022, sourceType: "module" },
    rules: { ...rules, strict: "off" },
  },
];
