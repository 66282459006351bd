"""The casting as a solid: its mesh, the ways that light takes through it, its places as they are seen, and the file that keeps
them. Geometry and refractive index alone: what the tint does to the light is worked out elsewhere.

The file and its values (`values`, `shape_file`) need numpy only. trimesh and embreex are imported by `mesh_file` and `scene`.
"""
