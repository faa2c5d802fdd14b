"""Arguments: what people say of knives, the number that decides, what flips it, and the knife that breaks it."""
