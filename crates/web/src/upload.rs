//! Files that people send: the form they come in, archives unpacked with care, and the archive they are kept in.

use crate::trouble::{Answer, Refusal};
use app::read::NamedBytes;
use axum::extract::Multipart;
use axum::extract::multipart::MultipartError;
use axum::http::StatusCode;
use diag::{Code, Finding, codes};
use std::collections::{HashMap, HashSet};
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// Most entries of an archive, folders not counted.
pub const MOST_ENTRIES: usize = 500;
/// Most bytes of all archives of one upload together, unpacked.
pub const MOST_UNPACKED: u64 = 512 << 20;
/// An entry may unpack to this many times its packed size. Lists and drawings come to some dozens; 1032 is the most that
/// deflating can do.
const MOST_RATIO: u64 = 200;
/// Smaller entries may have any ratio [bytes].
const SMALL: u64 = 4 << 20;
/// Longest name of a file [characters].
const MOST_NAME: usize = 160;
/// Most files of one form.
const MOST_FILES: usize = 500;
/// Most fields of one form: a page with the most parts has 18,000.
const MOST_FIELDS: usize = 20_000;
/// How an entry of an archive's directory begins.
const DIRECTORY_ENTRY: &[u8] = b"PK\x01\x02";

/// What a form with files brought.
#[derive(Debug, Default)]
pub struct Upload {
    /// Fields that are no files: name and text, in the order of the form.
    pub fields: Vec<(String, String)>,
    /// Files: name of the field, and the file.
    pub files: Vec<(String, NamedBytes)>,
}

impl Upload {
    /// Reads a form. Line ends of texts become plain ones; a file input in which nothing was chosen brings no file.
    ///
    /// # Errors
    /// When it is too large or no form.
    pub async fn read(mut form: Multipart) -> Answer<Self> {
        let mut upload = Self::default();
        while let Some(field) = form.next_field().await.map_err(|e| refusal(&e))? {
            if upload.files.len() > MOST_FILES || upload.fields.len() > MOST_FIELDS {
                return Err(Refusal::TooLarge(format!("At most {MOST_FILES} files and {MOST_FIELDS} fields can be sent at once.")));
            }
            let name = field.name().unwrap_or_default().to_owned();
            match field.file_name().map(str::to_owned) {
                Some(file) => {
                    let bytes = field.bytes().await.map_err(|e| refusal(&e))?;
                    if !file.is_empty() || !bytes.is_empty() {
                        upload.files.push((name, NamedBytes { name: file_name(&file), bytes: bytes.to_vec() }));
                    }
                }
                None => upload.fields.push((name, field.text().await.map_err(|e| refusal(&e))?.replace("\r\n", "\n"))),
            }
        }
        Ok(upload)
    }

    /// The text of a field; empty when there is none.
    pub fn text(&self, name: &str) -> &str {
        self.fields.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }

    /// The text of a field as a number.
    ///
    /// # Errors
    /// When it is none.
    pub fn number(&self, name: &str) -> Answer<i64> {
        self.text(name).parse().map_err(|_| Refusal::Wrong(format!("The field `{name}` holds no number.")))
    }

    /// Takes the files of a field.
    pub fn take(&mut self, field: &str) -> Vec<NamedBytes> {
        let (taken, left) = std::mem::take(&mut self.files).into_iter().partition(|(n, _)| n == field);
        self.files = left;
        let taken: Vec<(String, NamedBytes)> = taken;
        taken.into_iter().map(|(_, file)| file).collect()
    }
}

fn refusal(e: &MultipartError) -> Refusal {
    match e.status() {
        StatusCode::PAYLOAD_TOO_LARGE => Refusal::TooLarge(format!("At most {} MiB can be sent at once.", crate::serve::MOST_UPLOAD >> 20)),
        _ => Refusal::Wrong("What was sent is no form with files, or it broke off on the way.".to_owned()),
    }
}

/// The last piece of a path as the name of a file: no folders, no control characters, not longer than names need to be.
pub fn file_name(path: &str) -> String {
    let last = path.rsplit(['/', '\\']).next().unwrap_or_default();
    let name: String = last.chars().filter(|c| !c.is_control()).collect();
    let name = name.trim();
    let count = name.chars().count();
    if name.is_empty() || name.chars().all(|c| c == '.') {
        "unnamed".to_owned()
    } else if count > MOST_NAME {
        // The ending stays: it tells what the file is.
        name.chars().skip(count - MOST_NAME).collect()
    } else {
        name.to_owned()
    }
}

/// Unpacks the archives among files; everything else stays as it is. Files of the same name are numbered. An archive that is
/// damaged, too large or made to burst is left out as a whole, with a finding.
pub fn unpack(files: Vec<NamedBytes>) -> (Vec<NamedBytes>, Vec<Finding>) {
    let (mut all, mut findings) = (Vec::new(), Vec::new());
    let mut left = MOST_UNPACKED;
    for file in files {
        if !is_archive(&file) {
            all.push(file);
            continue;
        }
        match entries(&file, &mut left) {
            Ok((found, told)) => {
                all.extend(found);
                findings.extend(told);
            }
            Err(finding) => findings.push(*finding),
        }
    }
    let mut seen = HashSet::new();
    // The next number of each name, so that many of one name do not count from the beginning each time.
    let mut next: HashMap<String, u32> = HashMap::new();
    for file in &mut all {
        if !seen.insert(file.name.clone()) {
            let n = next.entry(file.name.clone()).or_insert(2);
            let name = (*n..).map(|n| numbered(&file.name, n)).find(|name| {
                *n += 1;
                !seen.contains(name)
            });
            file.name = name.unwrap_or_default();
            seen.insert(file.name.clone());
        }
    }
    (all, findings)
}

fn numbered(name: &str, n: u32) -> String {
    match name.rsplit_once('.') {
        Some((stem, ending)) if !stem.is_empty() => format!("{stem} ({n}).{ending}"),
        _ => format!("{name} ({n})"),
    }
}

/// Whether a file is an archive of files, and not a spreadsheet, which is packed in the same way.
fn is_archive(file: &NamedBytes) -> bool {
    let packed = file.bytes.starts_with(b"PK\x03\x04") || file.bytes.starts_with(b"PK\x05\x06");
    let holds = |text: &[u8]| file.bytes.windows(text.len()).any(|w| w == text);
    let ending = file.name.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
    match ending.as_str() {
        "zip" => packed,
        "xlsx" | "xlsm" | "xlsb" | "ods" => false,
        _ => packed && !holds(b"[Content_Types].xml") && !holds(b"mimetypeapplication/vnd.oasis.opendocument"),
    }
}

fn finding(code: &'static Code, file: &NamedBytes, message: String, hint: &str) -> Box<Finding> {
    Box::new(Finding::new(code, message).at(&file.name, 0).hint(hint))
}

type Entries = (Vec<NamedBytes>, Vec<Finding>);

fn entries(file: &NamedBytes, left: &mut u64) -> Result<Entries, Box<Finding>> {
    let damaged = |e: &dyn std::fmt::Display| {
        finding(codes::read::BINARY, file, format!("the archive cannot be unpacked: {e}"), "Pack the files anew, or send them one by one.")
    };
    let too_many = |n: usize| {
        let message = format!("the archive has {n} entries; at most {MOST_ENTRIES} are read");
        finding(codes::read::TOO_LARGE, file, message, "Pack only the placement lists, the bill and the drawings of the board.")
    };
    // Told before the directory is read: a directory of a million entries takes much more room than its bytes.
    let listed = file.bytes.windows(DIRECTORY_ENTRY.len()).filter(|w| *w == DIRECTORY_ENTRY).count();
    if listed > 20 * MOST_ENTRIES {
        return Err(too_many(listed));
    }
    let mut archive = ZipArchive::new(Cursor::new(&file.bytes)).map_err(|e| damaged(&e))?;
    let (mut found, mut findings) = (Vec::new(), Vec::new());
    let listed = archive.len();
    for i in 0..listed {
        let entry = match archive.by_index(i) {
            Ok(entry) => entry,
            Err(e) => return Err(damaged(&e)),
        };
        let path = entry.name().map_err(|e| damaged(&e))?.into_owned();
        let name = file_name(&path);
        // What an operating system adds about its folders is no file of the designer.
        if entry.is_dir() || entry.is_symlink() || path.starts_with("__MACOSX/") || name == ".DS_Store" {
            continue;
        }
        if found.len() + findings.len() >= MOST_ENTRIES {
            return Err(too_many(listed));
        }
        let most = (MOST_RATIO.saturating_mul(entry.compressed_size())).max(SMALL);
        let mut bytes = Vec::new();
        // What the directory says about sizes is not believed.
        entry.take(most.min(*left) + 1).read_to_end(&mut bytes).map_err(|e| damaged(&e))?;
        let size = bytes.len() as u64;
        if size > most {
            let message = format!("`{name}` unpacks to more than {MOST_RATIO} times its size; the archive is left out");
            return Err(finding(codes::read::TOO_LARGE, file, message, "Send the file as it is, not packed."));
        }
        if size > *left {
            let message = format!("unpacked, the archives come to more than {} MiB", MOST_UNPACKED >> 20);
            return Err(finding(codes::read::TOO_LARGE, file, message, "Leave out what is not needed for placing parts."));
        }
        *left -= size;
        let inner = NamedBytes { name, bytes };
        if is_archive(&inner) {
            let message = format!("`{}` is an archive within an archive; it is left out", inner.name);
            findings.push(*finding(codes::read::FORMAT_LATER, file, message, "Unpack it, and send what is in it."));
        } else {
            found.push(inner);
        }
    }
    Ok((found, findings))
}

/// Files as one archive, to be kept.
///
/// # Errors
/// When it cannot be written.
pub fn pack(files: &[NamedBytes]) -> Answer<Vec<u8>> {
    let unwritten = |e: &dyn std::fmt::Display| Refusal::Failed(format!("the archive cannot be written: {e}"));
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for file in files {
        writer.start_file(file.name.as_str(), options).map_err(|e| unwritten(&e))?;
        writer.write_all(&file.bytes).map_err(|e| unwritten(&e))?;
    }
    Ok(writer.finish().map_err(|e| unwritten(&e))?.into_inner())
}

/// The files of an archive that [`pack`] wrote.
///
/// # Errors
/// When it cannot be read.
pub fn kept(archive: &[u8]) -> Answer<Vec<NamedBytes>> {
    let unread = |e: &dyn std::fmt::Display| Refusal::Failed(format!("the stored archive cannot be read: {e}"));
    let mut archive = ZipArchive::new(Cursor::new(archive)).map_err(|e| unread(&e))?;
    let mut files = Vec::new();
    for i in 0..archive.len() {
        let mut entry = archive.by_index(i).map_err(|e| unread(&e))?;
        let name = entry.name().map_err(|e| unread(&e))?.into_owned();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).map_err(|e| unread(&e))?;
        files.push(NamedBytes { name, bytes });
    }
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn zip(entries: &[(&str, &[u8])]) -> NamedBytes {
        let files: Vec<NamedBytes> = entries.iter().map(|(n, b)| NamedBytes { name: (*n).to_owned(), bytes: b.to_vec() }).collect();
        NamedBytes { name: "all.zip".to_owned(), bytes: pack(&files).expect("an archive") }
    }

    #[test]
    fn only_the_last_piece_of_a_path_is_a_name() {
        assert_eq!(file_name("../../etc/passwd"), "passwd");
        assert_eq!(file_name("C:\\boards\\top.csv"), "top.csv");
        assert_eq!(file_name("/.."), "unnamed");
        assert!(file_name(&format!("{}.csv", "x".repeat(900))).ends_with("x.csv"));
    }

    #[test]
    fn archives_are_unpacked_without_folders_and_names_stay_apart() {
        let (files, findings) = unpack(vec![zip(&[("top/a.csv", b"1"), ("../bottom/a.csv", b"2")])]);
        assert!(findings.is_empty(), "{findings:?}");
        assert_eq!(files.iter().map(|f| f.name.as_str()).collect::<Vec<_>>(), ["a.csv", "a (2).csv"]);
    }

    #[test]
    fn what_bursts_is_left_out() {
        let zeros = vec![0; 16 << 20];
        let (files, findings) = unpack(vec![zip(&[("a.csv", b"1"), ("zeros.csv", &zeros)])]);
        assert!(files.is_empty());
        assert!(findings[0].is_error() && findings[0].message.contains("times its size"), "{findings:?}");
    }

    #[test]
    fn too_many_entries_are_refused() {
        let names: Vec<String> = (0..=MOST_ENTRIES).map(|i| format!("{i}.csv")).collect();
        let entries: Vec<(&str, &[u8])> = names.iter().map(|n| (n.as_str(), b"x".as_slice())).collect();
        let (files, findings) = unpack(vec![zip(&entries)]);
        assert!(files.is_empty());
        assert_eq!(findings.len(), 1, "{findings:?}");
    }

    #[test]
    fn an_archive_within_an_archive_is_told() {
        let inner = zip(&[("a.csv", b"1")]);
        let (files, findings) = unpack(vec![zip(&[("inner.zip", &inner.bytes), ("b.csv", b"2")])]);
        assert_eq!(files.len(), 1);
        assert_eq!(findings[0].code, "read.format-later", "{findings:?}");
    }

    #[test]
    fn a_damaged_archive_is_told() {
        let mut broken = zip(&[("a.csv", b"1")]);
        broken.bytes.truncate(20);
        assert_eq!(unpack(vec![broken]).1[0].code, "read.binary");
    }

    #[test]
    fn what_is_packed_comes_back() {
        let files = kept(&zip(&[("a.csv", b"1"), ("b.csv", b"2")]).bytes).expect("an archive");
        assert_eq!(files[1].bytes, b"2");
    }
}
