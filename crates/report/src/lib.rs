//! Printed sheets, spreadsheets and the HTML report.
