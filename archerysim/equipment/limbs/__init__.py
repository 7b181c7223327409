"""What limbs are: their record, tables along them, natural shape, masses, materials."""
