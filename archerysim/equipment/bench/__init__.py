"""What a bow-maker does to a bow as built, one step after another: pockets, string, parts, wood."""
