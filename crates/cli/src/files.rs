//! Reading and writing files; every trouble names the file.

use crate::End;
use crate::args::Inputs;
use crate::say::refuse;
use app::read::{NamedBytes, ReadRequest};
use diag::{Finding, codes};
use domain::family::plan::FamilyPlan;
use domain::plan::Plan;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Larger files are not read [bytes]: no list of a board comes near it.
const MOST_BYTES: u64 = 512 << 20;
/// Most files of a folder.
const MOST_FILES: usize = 500;

fn trouble(path: &Path, what: &str) -> End {
    refuse(&Finding::new(codes::plan::FILE, what.to_owned()).at(path.display().to_string(), 0), End::File)
}

/// Everything in a file.
pub fn bytes(path: &Path) -> Result<Vec<u8>, End> {
    let size = std::fs::metadata(path).map_err(|e| trouble(path, &e.to_string()))?;
    if size.is_dir() {
        return Err(trouble(path, "is a folder, a file is wanted"));
    }
    if size.len() > MOST_BYTES {
        return Err(trouble(path, "is larger than 512 MiB"));
    }
    std::fs::read(path).map_err(|e| trouble(path, &e.to_string()))
}

/// A text file in UTF-8.
pub fn text(path: &Path) -> Result<String, End> {
    String::from_utf8(bytes(path)?)
        .map_err(|_| refuse(&Finding::new(codes::line::SYNTAX, "the file is not text in UTF-8").at(name(path), 0), End::Input))
}

/// Name of a file without its folder.
pub fn name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}

/// Name of a file without folder and ending.
pub fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(|| name(path), |s| s.to_string_lossy().into_owned())
}

/// A file with its name.
pub fn named(path: &Path) -> Result<NamedBytes, End> {
    Ok(NamedBytes { name: name(path), bytes: bytes(path)? })
}

/// What lies in a folder, sorted, hidden files left out.
pub fn entries(folder: &Path) -> Result<Vec<PathBuf>, End> {
    let entries = std::fs::read_dir(folder).map_err(|e| trouble(folder, &e.to_string()))?;
    let mut inside: Vec<PathBuf> = entries.filter_map(Result::ok).map(|e| e.path()).filter(|p| !name(p).starts_with('.')).collect();
    inside.sort();
    Ok(inside)
}

/// The files in a folder (sorted, not deeper).
pub fn inside(folder: &Path) -> Result<Vec<PathBuf>, End> {
    let inside: Vec<PathBuf> = entries(folder)?.into_iter().filter(|p| p.is_file()).collect();
    if inside.is_empty() {
        return Err(trouble(folder, "the folder holds no file"));
    }
    if inside.len() > MOST_FILES {
        return Err(trouble(folder, "the folder holds more than 500 files; name the ones that matter"));
    }
    Ok(inside)
}

/// All inputs of a reading: files as they are, folders with the files in them (sorted, not deeper).
pub fn request(inputs: &Inputs) -> Result<ReadRequest, End> {
    let mut paths: Vec<PathBuf> = Vec::new();
    for input in &inputs.inputs {
        if !input.is_dir() {
            paths.push(input.clone());
            continue;
        }
        paths.extend(inside(input)?);
    }
    let product = inputs.name.clone().or_else(|| {
        // A folder is called after its board more often than the files in it.
        let folder = inputs.inputs.iter().find(|p| p.is_dir())?;
        let full = std::fs::canonicalize(folder).ok()?;
        Some(name(&full))
    });
    Ok(ReadRequest {
        files: paths.iter().map(|p| named(p)).collect::<Result<_, _>>()?,
        name: product,
        mapping: inputs.mapping.as_deref().map(named).transpose()?,
        library: inputs.library.as_deref().map(named).transpose()?,
        parts_table: inputs.parts.as_deref().map(named).transpose()?,
    })
}

/// A saved plan of one product or of a family.
pub enum Saved {
    /// Of one product.
    Plan(Box<Plan>),
    /// Of a family.
    Family(Box<FamilyPlan>),
}

/// A saved plan, of one product or of a family.
pub fn saved(path: &Path) -> Result<Saved, End> {
    let raw = bytes(path)?;
    let text = String::from_utf8_lossy(&raw);
    let read = if FamilyPlan::is_one(&text) {
        FamilyPlan::parse(&name(path), &text).map(|f| Saved::Family(Box::new(f)))
    } else {
        Plan::parse(&name(path), &text).map(|p| Saved::Plan(Box::new(p)))
    };
    read.map_err(|f| refuse(&f, End::Input))
}

/// A saved plan of one product; one of a family is refused.
pub fn plan(path: &Path) -> Result<Plan, End> {
    match saved(path)? {
        Saved::Plan(plan) => Ok(*plan),
        Saved::Family(_) => {
            let finding = Finding::new(codes::plan::PLAN_SYNTAX, "this is the plan of a family; the plan of one product is wanted");
            Err(refuse(&finding.at(name(path), 0).hint("Take one of the plans that `evenline family --plans` keeps."), End::Input))
        }
    }
}

/// Writes a file in one step: beside its place first, then moved, so that no half file is ever seen.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), End> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let beside = folder.join(format!(".{}.{}.part", name(path), std::process::id()));
    let written = std::fs::File::create(&beside)
        .and_then(|mut f| f.write_all(bytes).and_then(|()| f.sync_all()))
        .and_then(|()| std::fs::rename(&beside, path));
    written.map_err(|e| {
        // The half file beside may not exist; the trouble to tell is the first one.
        drop(std::fs::remove_file(&beside));
        trouble(path, &e.to_string())
    })
}

/// Makes a folder if there is none.
pub fn folder(path: &Path) -> Result<(), End> {
    std::fs::create_dir_all(path).map_err(|e| trouble(path, &e.to_string()))
}
