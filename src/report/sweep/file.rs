//! The file of a sweep: written while it runs, taken up again after a kill, joined from parts.

use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::study::sweep::{Cell, Ending, Plan};

use super::head::{Difference, Head};
use super::rows::{column_names, read, row_line};

/// Name of the file in its folder.
pub const FILE: &str = "sweep.csv";
/// Name of it while rows are missing.
const PART: &str = "sweep.csv.part";

/// Longest time that rows stay in memory.
const FLUSH: Duration = Duration::from_secs(1);

/// Results of any command.
const RESULTS: &str = "results.json";

/// Why a sweep's file cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SweepFileError {
    /// It cannot be read.
    #[error("cannot read {}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// It cannot be written.
    #[error("cannot write {}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// It is something else.
    #[error("{} is not the file of a sweep", path.display())]
    NotASweep {
        /// The file.
        path: PathBuf,
    },
    /// It is of another sweep.
    #[error(
        "{} was made {difference}; choose another folder, or take it away", path.display()
    )]
    Another {
        /// The file.
        path: PathBuf,
        /// What is different.
        difference: Difference,
    },
    /// Results of something else stand where it should go.
    #[error(
        "{} is of another command; choose another folder, or take it away", path.display()
    )]
    OfAnotherCommand {
        /// The file.
        path: PathBuf,
    },
    /// A line that cannot be of this sweep.
    #[error("line {line} of {} is damaged", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// Line, from 1.
        line: u64,
    },
    /// A part that is not finished.
    #[error("{} has {found} of its {wanted} rows; run its sweep again to the end", path.display())]
    Unfinished {
        /// The file.
        path: PathBuf,
        /// Rows that it has.
        found: u64,
        /// Rows that it should have.
        wanted: u64,
    },
    /// Parts of different sweeps.
    #[error("{} and {} are not of one sweep: one was made {difference}", one.display(), other.display())]
    DoNotFit {
        /// A part.
        one: PathBuf,
        /// Another.
        other: PathBuf,
        /// What is different.
        difference: Difference,
    },
    /// Rows that no part has.
    #[error("rows {from} to {to} are in none of the parts")]
    Gap {
        /// First such row, from 1.
        from: u64,
        /// Last.
        to: u64,
    },
    /// Rows that two parts have.
    #[error("row {row} is in {} and in {}", one.display(), other.display())]
    Overlap {
        /// Row, from 1.
        row: u64,
        /// A part.
        one: PathBuf,
        /// Another.
        other: PathBuf,
    },
}

/// A sweep's file that is being written.
#[derive(Debug)]
pub struct SweepFile {
    path: PathBuf,
    part: PathBuf,
    /// None if nothing is missing.
    out: Option<BufWriter<File>>,
    next: u64,
    flushed: Instant,
}

impl SweepFile {
    /// Opens the file of a sweep in a folder, which is made if it is not there. Whole rows that are
    /// there from an earlier start are kept and handed to `kept`.
    ///
    /// # Errors
    /// [`SweepFileError`] if the file is of another sweep, damaged, or cannot be written.
    pub fn open(
        folder: &Path,
        head: &Head,
        kept: impl FnMut(&[Cell], &Ending),
    ) -> Result<Self, SweepFileError> {
        let (path, part) = (folder.join(FILE), folder.join(PART));
        let write = |source| SweepFileError::Write {
            path: part.clone(),
            source,
        };
        std::fs::create_dir_all(folder).map_err(write)?;
        let there = [&part, &path].into_iter().find(|path| path.is_file());
        let mut file = Self {
            path: path.clone(),
            part: part.clone(),
            out: None,
            next: head.rows.start,
            flushed: Instant::now(),
        };
        let Some(there) = there else {
            let results = folder.join(RESULTS);
            if results.is_file() {
                return Err(SweepFileError::OfAnotherCommand { path: results });
            }
            let mut out = BufWriter::new(File::create(&part).map_err(write)?);
            out.write_all(head.to_text().as_bytes()).map_err(write)?;
            let names = column_names(&head.plan);
            out.write_all(names.as_bytes()).map_err(write)?;
            file.out = Some(out);
            return Ok(file);
        };
        let mut old = Reader::open(there, Some(head))?;
        old.rows(kept)?;
        file.next = old.next;
        if there == &path && file.next == head.rows.end && !old.is_cut {
            return Ok(file);
        }
        let whole = old.whole_bytes;
        drop(old);
        if there == &path {
            std::fs::rename(&path, &part).map_err(write)?;
        }
        let mut out = OpenOptions::new().write(true).open(&part).map_err(write)?;
        out.set_len(whole).map_err(write)?;
        io::Seek::seek(&mut out, io::SeekFrom::End(0)).map_err(write)?;
        let mut out = BufWriter::new(out);
        if whole == 0 {
            // Cut inside its head.
            out.write_all(head.to_text().as_bytes()).map_err(write)?;
            let names = column_names(&head.plan);
            out.write_all(names.as_bytes()).map_err(write)?;
        }
        file.out = Some(out);
        Ok(file)
    }

    /// The first row that is missing, from 0.
    pub fn next(&self) -> u64 {
        self.next
    }

    /// Adds the row that is missing first.
    ///
    /// # Errors
    /// [`SweepFileError::Write`].
    pub fn add(&mut self, cells: &[Cell], ending: &Ending) -> Result<(), SweepFileError> {
        let line = row_line(self.next, cells, ending);
        self.next += 1;
        let is_late = self.flushed.elapsed() > FLUSH;
        if let Some(out) = &mut self.out {
            let mut done = out.write_all(line.as_bytes());
            if is_late {
                done = done.and_then(|()| out.flush());
                self.flushed = Instant::now();
            }
            done.map_err(|source| SweepFileError::Write {
                path: self.part.clone(),
                source,
            })?;
        }
        Ok(())
    }

    /// Ends the file: gives it its name.
    ///
    /// # Errors
    /// [`SweepFileError::Write`].
    pub fn finish(mut self) -> Result<(), SweepFileError> {
        let Some(mut out) = self.out.take() else {
            return Ok(());
        };
        let done = out
            .flush()
            .and_then(|()| std::fs::rename(&self.part, &self.path));
        done.map_err(|source| SweepFileError::Write {
            path: self.path.clone(),
            source,
        })
    }
}

/// A sweep's file that is being read, line by line.
struct Reader {
    path: PathBuf,
    lines: BufReader<File>,
    head: Head,
    next: u64,
    line: u64,
    /// Bytes up to the end of the last whole line.
    whole_bytes: u64,
    /// Whether it ends inside a line.
    is_cut: bool,
}

impl Reader {
    /// Opens it and reads its head, which must be `wanted` if that is given.
    fn open(path: &Path, wanted: Option<&Head>) -> Result<Self, SweepFileError> {
        let path = path.to_owned();
        let failed = |source| SweepFileError::Read {
            path: path.clone(),
            source,
        };
        let file = File::open(&path).map_err(failed)?;
        let mut lines = BufReader::new(file);
        let mut text = String::new();
        let mut names = Vec::new();
        let mut line = 0;
        loop {
            let mut bytes = Vec::new();
            lines.read_until(b'\n', &mut bytes).map_err(failed)?;
            line += 1;
            if !bytes.starts_with(b"#") || text.len() > LONGEST_HEAD {
                names = if bytes.is_empty() { names } else { bytes };
                break;
            }
            text.push_str(&String::from_utf8_lossy(&bytes));
        }
        let names = String::from_utf8_lossy(&names).into_owned();
        let whole = text.len() as u64 + names.len() as u64;
        if let Some(wanted) = wanted {
            let begun = wanted.to_text() + &column_names(&wanted.plan);
            let found = format!("{text}{names}");
            if begun.len() > found.len() && begun.starts_with(&found) {
                return Ok(Self {
                    path,
                    lines,
                    head: wanted.clone(),
                    next: wanted.rows.start,
                    line,
                    whole_bytes: 0,
                    is_cut: true,
                });
            }
        }
        let not = || SweepFileError::NotASweep { path: path.clone() };
        let head = Head::parse(&text).ok_or_else(not)?;
        if let Some(wanted) = wanted {
            let rows = (head.rows != wanted.rows).then_some(Difference::Rows);
            if let Some(difference) = head.difference(wanted).or(rows) {
                return Err(SweepFileError::Another { path, difference });
            }
        }
        if names != column_names(&head.plan) {
            return Err(not());
        }
        Ok(Self {
            next: head.rows.start,
            path,
            lines,
            head,
            line,
            whole_bytes: whole,
            is_cut: false,
        })
    }

    /// Reads the rows up to the end or to a line that is cut.
    fn rows(&mut self, mut each: impl FnMut(&[Cell], &Ending)) -> Result<(), SweepFileError> {
        let mut bytes = Vec::new();
        while !self.is_cut {
            bytes.clear();
            let read_bytes = self.lines.read_until(b'\n', &mut bytes);
            let length = read_bytes.map_err(|source| SweepFileError::Read {
                path: self.path.clone(),
                source,
            })?;
            if length == 0 {
                break;
            }
            self.line += 1;
            let Some(line) = bytes.strip_suffix(b"\n") else {
                self.is_cut = true;
                break;
            };
            let damaged = || SweepFileError::Damaged {
                path: self.path.clone(),
                line: self.line,
            };
            if self.next >= self.head.rows.end {
                return Err(damaged());
            }
            let cells = self.head.plan.cells(self.next);
            let line = std::str::from_utf8(line).ok();
            let ending = line.and_then(|line| read(line, self.next, &cells));
            each(&cells, &ending.ok_or_else(damaged)?);
            self.next += 1;
            self.whole_bytes += length as u64;
        }
        Ok(())
    }
}

/// Longest head that is read, bytes; lists of values are in it.
const LONGEST_HEAD: usize = 64_000_000;

/// Joins the parts of a sweep, each a file or the folder it is in, into the file of one that was
/// never parted: the same bytes. Every row goes to `each`.
///
/// # Errors
/// [`SweepFileError`] if they are not all the parts of one sweep.
pub fn merge(
    folder: &Path,
    parts: &[PathBuf],
    mut each: impl FnMut(&Plan, &[Cell], &Ending),
) -> Result<Head, SweepFileError> {
    let mut readers = Vec::new();
    for part in parts {
        let path = if part.is_dir() {
            let (whole, begun) = (part.join(FILE), part.join(PART));
            if begun.is_file() { begun } else { whole }
        } else {
            part.clone()
        };
        readers.push(Reader::open(&path, None)?);
    }
    readers.sort_by_key(|reader| (reader.head.rows.start, reader.head.rows.end));
    let head = fit(&readers)?;
    let out = SweepFile::open(folder, &head, |_, _| {})?;
    let part = (out.next() == 0).then(|| out.part.clone());
    let joined = join(out, &mut readers, &mut each);
    if let (Err(_), Some(part)) = (&joined, part) {
        // Nothing of a sweep that has no end is left behind.
        let _ = std::fs::remove_file(part);
    }
    joined.map(|()| head)
}

fn join(
    mut out: SweepFile,
    readers: &mut [Reader],
    each: &mut impl FnMut(&Plan, &[Cell], &Ending),
) -> Result<(), SweepFileError> {
    let missing_from = out.next();
    for reader in readers {
        let mut failed = None;
        let mut row = reader.next;
        let plan = reader.head.plan.clone();
        reader.rows(|cells, ending| {
            each(&plan, cells, ending);
            if row >= missing_from && failed.is_none() {
                failed = out.add(cells, ending).err();
            }
            row += 1;
        })?;
        if let Some(error) = failed {
            return Err(error);
        }
        let rows = &reader.head.rows;
        if reader.next < rows.end {
            return Err(SweepFileError::Unfinished {
                path: reader.path.clone(),
                found: reader.next - rows.start,
                wanted: rows.end - rows.start,
            });
        }
    }
    out.finish()
}

/// The head of the whole that parts, in the order of their rows, make together.
fn fit(readers: &[Reader]) -> Result<Head, SweepFileError> {
    let Some(first) = readers.first() else {
        return Err(SweepFileError::Gap { from: 1, to: 1 });
    };
    let mut last = first;
    let mut next = 0;
    for reader in readers {
        if let Some(difference) = first.head.difference(&reader.head) {
            return Err(SweepFileError::DoNotFit {
                one: first.path.clone(),
                other: reader.path.clone(),
                difference,
            });
        }
        let rows = &reader.head.rows;
        if rows.start > next {
            let (from, to) = (next + 1, rows.start);
            return Err(SweepFileError::Gap { from, to });
        }
        if rows.start < next && !rows.is_empty() {
            return Err(SweepFileError::Overlap {
                row: rows.start + 1,
                one: last.path.clone(),
                other: reader.path.clone(),
            });
        }
        next = next.max(rows.end);
        last = reader;
    }
    let rows = first.head.plan.rows();
    if next < rows {
        let (from, to) = (next + 1, rows);
        return Err(SweepFileError::Gap { from, to });
    }
    Ok(Head {
        rows: 0..rows,
        ..first.head.clone()
    })
}
