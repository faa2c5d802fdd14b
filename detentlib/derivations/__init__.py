"""Every formula, derived by sympy from a stated balance, and the register that holds them."""
