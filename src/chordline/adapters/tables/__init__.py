"""Files that are tables: CSV and XLSX."""
