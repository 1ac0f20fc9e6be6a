//! `sweep`: many variations of a house.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::catalog::nearest;
use crate::house::{House, HouseError, HouseFile, group_and_name, is_count};
use crate::report::sweep::{
    Head, Summary, SweepFile, sweep_drawings, sweep_json, sweep_page, sweep_text,
};
use crate::study::sweep::{
    Axis, Climate, Ground, Method, Order, Plan, Reading, RowError, Subject, Tally,
};

use super::common::Common;
use super::failure::Failure;
use super::period::{BESIDE, Period, read_weather};
use super::progress::Progress;
use super::sweep_input;

/// Vary any fields of a house, every value with every other: fans against foil, if nothing is said
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  \
    rafterheat sweep house.toml --vary fans.gable.count=0..8 \\\n    \
    --vary barrier.place=none,rafters,deck,floor --out fans-and-foil\n\n\
    With --out the folder gets sweep.csv with a row for each variation, a page with charts \
    (report.html), summary.txt and results.json; a sweep that was broken off goes on where it \
    stopped. More with --help.",
    after_long_help = "Examples:\n  \
    rafterheat sweep house.toml --vary fans.gable.count=0..8 \\\n    \
    --vary barrier.place=none,rafters,deck,floor --out fans-and-foil\n  \
    rafterheat sweep house.toml --vary \"roof.pitch=20..45 deg:5\"\n  \
    rafterheat sweep house.toml --sample 1000 --vary fans.gable.count=0..8 \\\n    \
    --vary roof.absorptance=0.4..0.95 --vary \"ceiling.insulation=R-11..R-49\"\n\n\
    Values of --vary: whole numbers 0..8; steps 0..1:0.1; with the field's unit \"75..300 cfm:25\"; \
    a list none,rafters,deck. In a sample a range without a step means everything between its \
    ends. `design` takes designs of the file: --vary design=fans,barrier.\n\n\
    With --out the folder gets sweep.csv with a row for each variation, a page with charts \
    (report.html), summary.txt and results.json. Lines with # at the head of sweep.csv say what it \
    was made of. A sweep that was broken off goes on where it stopped when it is started again. \
    `outcome` is ok, refused (the parts of such a house do not go together) or failed. The bytes \
    are the same for any number of threads.\n\n\
    In parts, on several machines:\n  \
    rafterheat sweep house.toml --vary ... --shard 1/3 --out part-1      (and 2/3, 3/3)\n  \
    rafterheat merge whole part-1 part-2 part-3\n\n\
    From another program, a line in, a line out, in order:\n  \
    echo '{\"id\": 1, \"fans.gable.count\": 4}' | rafterheat sweep house.toml --from-stdin --json\n\
    Keys are fields, `design`, `weather` and `id`, which is handed back. Without --json a line is \
    the id and the results as in sweep.csv, without a line of names. A line that cannot be read, or a \
    key that is not known, ends it with the number of the line; all lines before are answered."
)]
pub(super) struct Sweep {
    /// House file
    #[arg(value_name = "HOUSE")]
    house: PathBuf,
    /// A field and its values; give it again for every field. Left out: fans and barrier
    #[arg(long, value_name = "KEY=VALUES", conflicts_with = "from_stdin")]
    vary: Vec<String>,
    /// Design to vary, or several with commas [default: the house as it stands]
    #[arg(long, value_name = "NAME", value_delimiter = ',')]
    design: Vec<String>,
    /// Weather file, or several with commas; left out, weather.csv beside the house file
    #[arg(long, value_name = "FILE", value_delimiter = ',')]
    weather: Vec<PathBuf>,
    /// Description of the weather files' columns, if they do not describe themselves
    #[arg(long, value_name = "FILE", requires = "weather")]
    columns: Option<PathBuf>,
    /// Days to run: hot-week, year, a day, or from..to with both days
    #[arg(long, default_value = "hot-week", value_name = "PERIOD")]
    period: String,
    /// Draw so many samples in place of every value with every other
    #[arg(long, value_name = "N", requires = "vary")]
    sample: Option<u64>,
    /// How samples are spread
    #[arg(
        long,
        value_enum,
        default_value = "latin-hypercube",
        requires = "sample"
    )]
    #[arg(hide_short_help = true)]
    method: MethodArg,
    /// Which of many such samples
    #[arg(long, default_value_t = 1, value_name = "S", requires = "sample")]
    #[arg(hide_short_help = true)]
    seed: u64,
    /// Run part I of N only, into a folder of its own; `merge` joins them
    #[arg(long, value_name = "I/N", hide_short_help = true)]
    #[arg(conflicts_with = "from_stdin")]
    shard: Option<String>,
    /// Read variations as JSON, one a line, and answer each with a line
    #[arg(long, hide_short_help = true, conflicts_with = "out")]
    from_stdin: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum MethodArg {
    /// One in each of as many slices of every field as there are samples
    LatinHypercube,
    /// A Sobol sequence
    Sobol,
}

impl Sweep {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = House::read(&self.house)?;
        let designs = self.designs(&file)?;
        let ground = Ground {
            file: &file,
            design: designs.first().cloned().unwrap_or_default(),
            climates: self.climates()?,
        };
        if self.from_stdin {
            return sweep_input::run(common, out, &ground);
        }
        let plan = self.plan(&ground, &designs)?;
        ground.check(&plan).map_err(|error| match error {
            HouseError::Invalid { faults, .. } => Failure::Variation {
                faults: faults.iter().map(ToString::to_string).collect(),
            },
            other => other.into(),
        })?;
        let rows = self.rows(common, &plan)?;
        let head = Head::new(&ground, &plan, rows);
        let mut tally = Tally::new(&plan);
        let lost = go(common, &ground, &head, &mut tally)?;
        finish(common, out, common.out.as_ref(), &head, &tally)?;
        if let Some((row, error)) = lost.refused
            && !common.quiet
        {
            let mut stderr = anstream::stderr();
            // If standard error is gone too, there is nobody to tell.
            let _ = writeln!(
                stderr,
                "remark: row {}, the first without result: {error}",
                row + 1
            );
        }
        match lost.failed {
            Some((row, error)) => Err(Failure::Rows {
                count: tally.failed,
                row: row + 1,
                source: Box::new(error),
            }),
            None => Ok(()),
        }
    }

    /// The designs that are varied: by name, at least the house as it stands.
    fn designs(&self, file: &HouseFile) -> Result<Vec<String>, Failure> {
        if self.design.is_empty() {
            return Ok(vec![file.base.design.clone()]);
        }
        for name in &self.design {
            find_design(file, name, &self.house)?;
        }
        Ok(self.design.clone())
    }

    /// The weather files, with the period found in each.
    fn climates(&self) -> Result<Vec<Climate>, Failure> {
        let period = Period::parse(&self.period)?;
        let mut paths = self.weather.clone();
        if paths.is_empty() {
            let beside = self.house.with_file_name(BESIDE);
            if !beside.is_file() {
                let house = self.house.clone();
                return Err(Failure::NoWeather { house });
            }
            paths.push(beside);
        }
        let mut climates: Vec<Climate> = Vec::new();
        for path in paths {
            let weather = read_weather(&path, self.columns.as_deref())?;
            let name = path.file_name().unwrap_or_default();
            let name = name.to_string_lossy().replace(char::is_control, " ");
            if climates.iter().any(|climate| climate.name == name) {
                return Err(Failure::TwoWeathers { name });
            }
            climates.push(Climate {
                name,
                period: period.find(&weather)?,
                weather,
            });
        }
        Ok(climates)
    }

    fn plan(&self, ground: &Ground<'_>, designs: &[String]) -> Result<Plan, Failure> {
        let mut axes = Vec::new();
        if ground.climates.len() > 1 {
            let names = ground.climates.iter().map(|climate| climate.name.clone());
            axes.push(Axis::of_names("weather", &names.collect::<Vec<_>>()));
        }
        if designs.len() > 1 {
            axes.push(Axis::of_names("design", designs));
        }
        let reading = |key: &str| Reading {
            is_count: is_count(key),
            is_sampled: self.sample.is_some(),
        };
        let vary = if self.vary.is_empty() && axes.is_empty() {
            usual(ground.file)?
        } else {
            self.vary.clone()
        };
        for text in &vary {
            let axis = Axis::parse(text, reading).map_err(|source| Failure::Vary {
                found: text.clone(),
                source,
            })?;
            let axis = match axis.subject() {
                Subject::Design => Axis::named("design", &axis.typed),
                _ => axis,
            };
            self.known(ground, &axis)?;
            axes.push(axis);
        }
        let order = match self.sample {
            Some(rows) => Order::Sample {
                rows,
                method: match self.method {
                    MethodArg::LatinHypercube => Method::LatinHypercube,
                    MethodArg::Sobol => Method::Sobol,
                },
                seed: self.seed,
            },
            None => Order::Grid,
        };
        Ok(Plan::new(axes, order)?)
    }

    /// Whether the designs, weathers and tables of the owner's that an axis names are there.
    fn known(&self, ground: &Ground<'_>, axis: &Axis) -> Result<(), Failure> {
        if axis.subject() == Subject::Design {
            for name in axis.texts() {
                find_design(ground.file, name, &self.house)?;
            }
            return Ok(());
        }
        if axis.subject() == Subject::Weather {
            let names = ground.climates.iter().map(|climate| climate.name.clone());
            let there: Vec<String> = names.collect();
            return match axis.texts().iter().find(|text| !there.contains(text)) {
                Some(found) => Err(Failure::NoWeatherNamed {
                    found: found.clone(),
                    near: nearest(found, there.iter().map(String::as_str)).map(str::to_owned),
                    there,
                }),
                None => Ok(()),
            };
        }
        let Some((group, name)) = group_and_name(&axis.key) else {
            return Ok(());
        };
        let there = ground.file.tables(&group);
        if there.contains(&name) {
            return Ok(());
        }
        let near = nearest(&name, there.iter().map(String::as_str));
        let full = |name: &str| format!("{group}.{name}");
        Err(Failure::NoTable {
            found: full(&name),
            near: near.map(full),
            there: there.iter().map(|name| full(name)).collect(),
        })
    }

    fn rows(&self, common: &Common, plan: &Plan) -> Result<std::ops::Range<u64>, Failure> {
        let Some(text) = &self.shard else {
            return Ok(0..plan.rows());
        };
        let shard = text.split_once('/').and_then(|(part, parts)| {
            let (part, parts): (u64, u64) = (part.parse().ok()?, parts.parse().ok()?);
            (1..=parts).contains(&part).then_some((part, parts))
        });
        let Some((part, parts)) = shard else {
            let found = text.clone();
            return Err(Failure::Shard { found });
        };
        if common.out.is_none() {
            return Err(Failure::ShardWithoutOut);
        }
        Ok(plan.shard(part, parts))
    }
}

/// What is varied if nothing is said: how many fans of the first group, and where foil is.
fn usual(file: &HouseFile) -> Result<Vec<String>, Failure> {
    let groups = file.tables("fans");
    let group = groups.first().ok_or(Failure::NothingToVary)?;
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    let group = if group.chars().all(plain) {
        group.clone()
    } else {
        format!("\"{group}\"")
    };
    Ok(vec![
        format!("fans.{group}.count=0..8"),
        "barrier.place=none,rafters,deck,floor".to_owned(),
    ])
}

fn find_design(file: &HouseFile, name: &str, house: &Path) -> Result<(), Failure> {
    let there: Vec<String> = file.all().map(|house| house.design.clone()).collect();
    if there.iter().any(|known| known == name) {
        return Ok(());
    }
    Err(Failure::NoDesign {
        found: name.to_owned(),
        house: house.to_owned(),
        near: nearest(name, there.iter().map(String::as_str)).map(str::to_owned),
        there,
    })
}

/// The first rows without result.
#[derive(Default)]
struct Lost {
    refused: Option<(u64, RowError)>,
    failed: Option<(u64, RowError)>,
}

/// Runs the rows that are missing, into a file if one is wanted.
fn go(
    common: &Common,
    ground: &Ground<'_>,
    head: &Head,
    tally: &mut Tally,
) -> Result<Lost, Failure> {
    let mut file = match &common.out {
        Some(folder) => {
            let kept = |cells: &[_], ending: &_| tally.add(cells, ending);
            Some(SweepFile::open(folder, head, kept)?)
        }
        None => None,
    };
    let next = file.as_ref().map_or(head.rows.start, SweepFile::next);
    let (count, done) = (head.rows.end - head.rows.start, next - head.rows.start);
    let progress = Progress::of_rows(common.quiet, "sweeping", count, done);
    let mut lost = Lost::default();
    let run = ground.rows(&head.plan, next..head.rows.end, |row| {
        let ending = row.ending();
        tally.add(&row.cells, &ending);
        if let Some(file) = &mut file {
            file.add(&row.cells, &ending)?;
        }
        if let Err(error) = row.result {
            let first = match error {
                RowError::Run(_) => &mut lost.failed,
                _ => &mut lost.refused,
            };
            first.get_or_insert((row.index, error));
        }
        progress.step();
        Ok::<(), Failure>(())
    });
    progress.end();
    run?;
    if let Some(file) = file {
        file.finish()?;
    }
    Ok(lost)
}

/// Tells what a sweep found, and writes what goes beside its file.
pub(super) fn finish(
    common: &Common,
    out: &mut dyn Write,
    folder: Option<&PathBuf>,
    head: &Head,
    tally: &Tally,
) -> Result<(), Failure> {
    let summary = Summary { head, tally };
    let system = common.system();
    let text = sweep_text(system, &summary);
    let json = sweep_json(&summary);
    common.finish(out, folder, &text, &json, |folder| {
        for (name, drawing) in sweep_drawings(system, &summary)? {
            folder.add(name, drawing);
        }
        folder.add("report.html", sweep_page(system, &summary)?);
        Ok(())
    })
}
