"""What leaves the workbook: hand-out, paper model, live sheet, bench sheet, report, page to post."""
