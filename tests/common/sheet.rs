//! Small spreadsheet files, written part by part: what a library would not write, a script may.

use std::fmt::Write as _;

/// A ZIP archive of these parts, none of them compressed (APPNOTE.TXT 6.3.10, 4.3.7 to 4.3.16).
fn archive(parts: &[(&str, String)]) -> Vec<u8> {
    let (mut out, mut directory) = (Vec::new(), Vec::new());
    for (name, text) in parts {
        let mut sum = flate2::Crc::new();
        sum.update(text.as_bytes());
        let at = out.len() as u32;
        // Flags, method, time, date.
        let mut header = vec![0; 8];
        for number in [sum.sum(), text.len() as u32, text.len() as u32] {
            header.extend(number.to_le_bytes());
        }
        header.extend((name.len() as u16).to_le_bytes());
        header.extend([0, 0]);
        out.extend(b"PK\x03\x04\x14\0");
        out.extend(&header);
        out.extend(name.as_bytes());
        out.extend(text.as_bytes());
        directory.extend(b"PK\x01\x02\x14\0\x14\0");
        directory.extend(&header);
        directory.extend([0; 10]);
        directory.extend(at.to_le_bytes());
        directory.extend(name.as_bytes());
    }
    let at = out.len() as u32;
    let count = (parts.len() as u16).to_le_bytes();
    out.extend(&directory);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend(count);
    out.extend(count);
    out.extend((directory.len() as u32).to_le_bytes());
    out.extend(at.to_le_bytes());
    out.extend([0, 0]);
    out
}

/// An .xlsx file with one sheet, whose rows are these.
pub fn xlsx(rows: &str) -> Vec<u8> {
    let part = |path: &str| {
        format!("application/vnd.openxmlformats-officedocument.spreadsheetml.{path}+xml")
    };
    let types = format!(
        "<Types xmlns='http://schemas.openxmlformats.org/package/2006/content-types'><Default Extension='xml' ContentType='application/xml'/><Default Extension='rels' ContentType='application/vnd.openxmlformats-package.relationships+xml'/><Override PartName='/xl/workbook.xml' ContentType='{}'/><Override PartName='/xl/worksheets/sheet1.xml' ContentType='{}'/></Types>",
        part("sheet.main"),
        part("worksheet")
    );
    let relations = |kind: &str, target: &str| {
        format!(
            "<Relationships xmlns='http://schemas.openxmlformats.org/package/2006/relationships'><Relationship Id='rId1' Type='http://schemas.openxmlformats.org/officeDocument/2006/relationships/{kind}' Target='{target}'/></Relationships>"
        )
    };
    let main = "xmlns='http://schemas.openxmlformats.org/spreadsheetml/2006/main'";
    archive(&[
        ("[Content_Types].xml", types),
        (
            "_rels/.rels",
            relations("officeDocument", "xl/workbook.xml"),
        ),
        (
            "xl/workbook.xml",
            format!(
                "<workbook {main} xmlns:r='http://schemas.openxmlformats.org/officeDocument/2006/relationships'><sheets><sheet name='Week' sheetId='1' r:id='rId1'/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            relations("worksheet", "worksheets/sheet1.xml"),
        ),
        (
            "xl/worksheets/sheet1.xml",
            format!("<worksheet {main}><sheetData>{rows}</sheetData></worksheet>"),
        ),
    ])
}

/// An .ods file with one sheet, whose rows are these.
pub fn ods(rows: &str) -> Vec<u8> {
    let open = "urn:oasis:names:tc:opendocument:xmlns";
    archive(&[
        (
            "mimetype",
            "application/vnd.oasis.opendocument.spreadsheet".to_owned(),
        ),
        (
            "META-INF/manifest.xml",
            format!("<manifest:manifest xmlns:manifest='{open}:manifest:1.0'/>"),
        ),
        (
            "content.xml",
            format!(
                "<office:document-content xmlns:office='{open}:office:1.0' xmlns:table='{open}:table:1.0' xmlns:text='{open}:text:1.0'><office:body><office:spreadsheet><table:table table:name='Week'>{rows}</table:table></office:spreadsheet></office:body></office:document-content>"
            ),
        ),
    ])
}

/// Rows of an .xlsx sheet: each cell is a text, or begins with `<` and is the inside of its own element,
/// after the attributes that stand before it.
pub fn xlsx_rows(rows: &[&[&str]]) -> String {
    let mut out = String::new();
    for (row, cells) in rows.iter().enumerate() {
        let _ = write!(out, "<row r='{}'>", row + 1);
        for (column, cell) in cells.iter().enumerate() {
            let at = format!("{}{}", char::from(b'A' + column as u8), row + 1);
            let _ = match cell.split_once('<') {
                Some((attributes, inside)) => write!(out, "<c r='{at}' {attributes}><{inside}</c>"),
                None => write!(out, "<c r='{at}' t='inlineStr'><is><t>{cell}</t></is></c>"),
            };
        }
        out.push_str("</row>");
    }
    out
}

/// Rows of an .ods sheet: each cell is a text, or begins with `<` and is an element of its own.
pub fn ods_rows(rows: &[&[&str]]) -> String {
    let mut out = String::new();
    for cells in rows {
        out.push_str("<table:table-row>");
        for cell in *cells {
            if cell.starts_with('<') {
                out.push_str(cell);
            } else {
                let _ = write!(
                    out,
                    "<table:table-cell office:value-type='string'><text:p>{cell}</text:p></table:table-cell>"
                );
            }
        }
        out.push_str("</table:table-row>");
    }
    out
}
