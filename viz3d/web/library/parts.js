/* What our scripts use of the drawing library: everything else is left out of our pages. */
export {
  BufferAttribute, BufferGeometry, Color, ConeGeometry, CylinderGeometry, DirectionalLight, DoubleSide, Group,
  HemisphereLight, LinearSRGBColorSpace, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, MeshLambertMaterial,
  MeshPhongMaterial, OrthographicCamera, Scene, Vector3, WebGLRenderer,
} from "three";
export { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";
