"""Every question of the workbook, what a question is, and the table that holds them all."""
