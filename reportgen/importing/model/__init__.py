"""The values that pass between the stages: frozen, without behaviour beyond what their fields mean."""
