"""Reading a manifest: YAML with places, the typed model, and every fault located."""
