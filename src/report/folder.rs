//! Files that are written whole or not at all.

use std::io;
use std::path::{Path, PathBuf};

/// Files to be written to one folder.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Folder {
    files: Vec<(PathBuf, String)>,
    /// Names of files of an earlier folder of the kind.
    replaced: Vec<PathBuf>,
}

/// Why a folder cannot be written.
#[derive(Debug, thiserror::Error)]
#[error("cannot write {}", path.display())]
pub struct FolderError {
    /// The file or folder.
    pub path: PathBuf,
    /// Why.
    pub source: io::Error,
}

impl Folder {
    /// Adds a file by its path inside the folder.
    pub fn add(&mut self, path: impl Into<PathBuf>, text: impl Into<String>) {
        self.files.push((path.into(), text.into()));
    }

    /// Takes the place of an earlier folder with files of these names: those that this one does not
    /// have go once it is written.
    pub fn replace(&mut self, names: &[&str]) {
        self.replaced.extend(names.iter().map(PathBuf::from));
    }

    /// Paths of its files inside the folder.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        self.files.iter().map(|(path, _)| path.as_path())
    }

    /// Writes every file under `folder`, which is made if it is not there. All are first written
    /// beside their places, and only when that has worked for all are they moved there; files of
    /// the same names are replaced, and those of an earlier folder go ([`Folder::replace`]).
    ///
    /// # Errors
    /// [`FolderError`] with the first file that cannot be written; then none is left behind.
    pub fn write(&self, folder: &Path) -> Result<(), FolderError> {
        let mut parts: Vec<(PathBuf, PathBuf)> = Vec::new();
        let mut made: Vec<PathBuf> = Vec::new();
        let result = self.write_parts(folder, &mut parts, &mut made);
        if result.is_err() {
            for (part, _) in &parts {
                let _ = std::fs::remove_file(part);
            }
            // Only folders that this call made, and only if nothing else has come to be in them.
            for folder in made.iter().rev() {
                let _ = std::fs::remove_dir(folder);
            }
        }
        result
    }

    fn write_parts(
        &self,
        folder: &Path,
        parts: &mut Vec<(PathBuf, PathBuf)>,
        made: &mut Vec<PathBuf>,
    ) -> Result<(), FolderError> {
        for (inside, text) in &self.files {
            let path = folder.join(inside);
            let failed = |source| FolderError {
                path: path.clone(),
                source,
            };
            if let Some(parent) = path.parent() {
                make_folder(parent, made).map_err(failed)?;
            }
            if path.is_dir() {
                return Err(failed(io::Error::from(io::ErrorKind::IsADirectory)));
            }
            let mut name = path.file_name().unwrap_or_default().to_owned();
            name.push(".part");
            let part = path.with_file_name(name);
            parts.push((part.clone(), path.clone()));
            std::fs::write(&part, text).map_err(failed)?;
        }
        for (part, path) in parts.iter() {
            std::fs::rename(part, path).map_err(|source| FolderError {
                path: path.clone(),
                source,
            })?;
        }
        for name in &self.replaced {
            let path = folder.join(name);
            if self.paths().all(|inside| inside != name) && path.is_file() {
                std::fs::remove_file(&path).map_err(|source| FolderError { path, source })?;
            }
        }
        Ok(())
    }
}

/// Makes a folder and those above it, and notes which are new.
fn make_folder(folder: &Path, made: &mut Vec<PathBuf>) -> io::Result<()> {
    if folder.as_os_str().is_empty() || folder.is_dir() {
        return Ok(());
    }
    if let Some(parent) = folder.parent() {
        make_folder(parent, made)?;
    }
    std::fs::create_dir(folder)?;
    made.push(folder.to_owned());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_files_appear_or_none() {
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("new").join("deep");
        let mut folder = Folder::default();
        folder.add("a.txt", "one");
        folder.add("fans/b.txt", "two");
        folder.write(&target).unwrap();
        assert_eq!(
            std::fs::read_to_string(target.join("fans/b.txt")).unwrap(),
            "two"
        );
        assert_eq!(std::fs::read_dir(&target).unwrap().count(), 2);

        // Of an earlier folder of the kind only what is named goes, and what is new stays.
        let mut later = Folder::default();
        later.add("c.txt", "three");
        later.replace(&["a.txt", "c.txt", "d.txt"]);
        std::fs::write(target.join("own.txt"), "mine").unwrap();
        later.write(&target).unwrap();
        let is_there = |name: &str| target.join(name).exists();
        assert!(!is_there("a.txt") && is_there("c.txt"));
        assert!(is_there("own.txt") && is_there("fans/b.txt"));

        // A folder stands where the second file should go.
        let blocked = place.path().join("blocked");
        std::fs::create_dir_all(blocked.join("fans/b.txt")).unwrap();
        let error = folder.write(&blocked).unwrap_err();
        assert!(error.path.ends_with("fans/b.txt"));
        assert!(!blocked.join("a.txt").exists() && !blocked.join("a.txt.part").exists());

        // A file stands where the folder should be.
        std::fs::write(place.path().join("file"), "x").unwrap();
        assert!(folder.write(&place.path().join("file")).is_err());
    }
}
