"""What a setting or a part does to where bare shafts land beside fletched ones."""
