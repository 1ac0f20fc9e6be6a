//! Texts that people read, kept whole.

/// Compares a text with `tests/golden/<name>`; `BLESS=1` rewrites the file.
pub(crate) fn check(name: &str, got: &str) {
    let path = format!("{}/tests/golden/{name}", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("BLESS").is_some() {
        if let Some(folder) = std::path::Path::new(&path).parent() {
            std::fs::create_dir_all(folder).expect("make the golden folder");
        }
        std::fs::write(&path, got).expect("write golden file");
    }
    let want = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        want == got,
        "{name} changed; run with BLESS=1 and read the diff\n--- got\n{got}"
    );
}
