"""``viz3d schema``: the scene file's JSON Schema, for editors."""

from __future__ import annotations


def schema() -> None:
    """Print the JSON Schema of scene files; inputs are marked posing or shaping."""
    import json

    from viz3d.scene.rows import eased_rows
    from viz3d.scene.schema import Scene

    document = Scene.model_json_schema()
    document["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    document["$defs"]["Step"]["properties"]["set"]["propertyNames"] = {"enum": list(eased_rows())}
    print(json.dumps(document, indent=2))
