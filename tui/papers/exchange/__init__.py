"""Results for other people's programs: AGS4, workbooks, tables."""
