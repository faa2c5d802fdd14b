"""Practice: the same questions with fresh numbers, the marks that a reader keeps, and the sheet for the teacher."""
