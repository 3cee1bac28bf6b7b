"""The values that pass between rooms: frozen, and without behaviour beyond what their fields mean."""
