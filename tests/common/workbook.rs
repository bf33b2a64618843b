//! Workbooks written by hand, with what a reader needs and no more.

use std::io::{Cursor, Write as _};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// An `.xlsx` of sheets by name, each as lines of cells; what reads as a number is one, and `text:` before a cell keeps it text.
pub fn workbook(sheets: &[(&str, &str)]) -> Vec<u8> {
    let mut packed = ZipWriter::new(Cursor::new(Vec::new()));
    let mut put = |name: &str, text: &str| {
        packed.start_file(name, SimpleFileOptions::default()).unwrap();
        packed.write_all(format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>{text}").as_bytes()).unwrap();
    };
    const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    const RELATIONS: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
    const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    const TYPES: &str = "http://schemas.openxmlformats.org/package/2006/content-types";
    const PART: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml";
    let (mut list, mut relations, mut types) = (String::new(), String::new(), String::new());
    for (i, (name, lines)) in (1..).zip(sheets) {
        list += &format!("<sheet name=\"{name}\" sheetId=\"{i}\" r:id=\"r{i}\"/>");
        relations += &format!(
            "<Relationship Id=\"r{i}\" Type=\"{OFFICE}/worksheet\" Target=\"worksheets/sheet{i}.xml\"/>"
        );
        types += &format!(
            "<Override PartName=\"/xl/worksheets/sheet{i}.xml\" ContentType=\"{PART}.worksheet+xml\"/>"
        );
        let rows: String = (1..).zip(lines.lines()).map(|(row, line)| self::row(row, line)).collect();
        let sheet = format!("<worksheet xmlns=\"{MAIN}\"><sheetData>{rows}</sheetData></worksheet>");
        put(&format!("xl/worksheets/sheet{i}.xml"), &sheet);
    }
    let book = format!("<workbook xmlns=\"{MAIN}\" xmlns:r=\"{OFFICE}\"><sheets>{list}</sheets></workbook>");
    put("xl/workbook.xml", &book);
    put(
        "xl/_rels/workbook.xml.rels",
        &format!("<Relationships xmlns=\"{RELATIONS}\">{relations}</Relationships>"),
    );
    let book =
        format!("<Relationship Id=\"b\" Type=\"{OFFICE}/officeDocument\" Target=\"xl/workbook.xml\"/>");
    put("_rels/.rels", &format!("<Relationships xmlns=\"{RELATIONS}\">{book}</Relationships>"));
    let book = format!("<Override PartName=\"/xl/workbook.xml\" ContentType=\"{PART}.sheet.main+xml\"/>");
    let relations = "<Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>";
    put("[Content_Types].xml", &format!("<Types xmlns=\"{TYPES}\">{relations}{book}{types}</Types>"));
    packed.finish().unwrap().into_inner()
}

fn row(row: usize, line: &str) -> String {
    let cell = |(column, cell): (u8, &str)| {
        let at = format!("{}{row}", char::from(b'A' + column));
        match (cell, cell.parse::<f64>()) {
            ("", _) => String::new(),
            (_, Ok(_)) => format!("<c r=\"{at}\"><v>{cell}</v></c>"),
            _ => {
                let words = cell.trim_start_matches("text:");
                format!("<c r=\"{at}\" t=\"inlineStr\"><is><t>{words}</t></is></c>")
            }
        }
    };
    let cells: String = (0..).zip(line.split(',')).map(cell).collect();
    format!("<row r=\"{row}\">{cells}</row>")
}
