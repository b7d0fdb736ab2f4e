//! Dependencies point one way.

use std::fs;
use std::path::Path;
use std::path::PathBuf;

/// Modules in layer order; each may use only those before it.
const LAYERS: [&str; 17] = [
    "quantity",
    "component",
    "lane",
    "material",
    "uncertain",
    "warning",
    "literature",
    "process",
    "ingredient",
    "unit",
    "trace",
    "chain",
    "scenario",
    "monte_carlo",
    "study",
    "report",
    "cli",
];

/// Layers that may not be used from a layer although they stand before it.
const FORBIDDEN: [(&str, &str); 4] =
    [("report", "chain"), ("report", "unit"), ("unit", "literature"), ("process", "literature")];

/// All sources but unit tests in files of their own, which may look up what the layer may not.
fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("src is readable") {
        let path = entry.expect("src is readable").path();
        if path.is_dir() {
            sources(&path, into);
        } else if path.extension().is_some_and(|e| e == "rs") && !path.ends_with("tests.rs") {
            into.push(path);
        }
    }
}

fn layer_of(path: &Path, root: &Path) -> Option<usize> {
    let first = path.strip_prefix(root).ok()?.components().next()?.as_os_str().to_str()?;
    let name = first.strip_suffix(".rs").unwrap_or(first);
    LAYERS.iter().position(|l| *l == name)
}

/// The text above the unit tests.
fn without_tests(text: &str) -> &str {
    text.find("#[cfg(test)]").map_or(text, |at| &text[..at])
}

#[test]
fn each_layer_uses_only_what_stands_before_it() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    assert!(files.len() > 20);
    let mut faults = Vec::new();
    for file in &files {
        let Some(here) = layer_of(file, &root) else { continue };
        let text = fs::read_to_string(file).expect("source is readable");
        for part in without_tests(&text).split("crate::").skip(1) {
            let name: String = part.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            match LAYERS.iter().position(|l| *l == name) {
                None => faults.push(format!("{}: crate::{name} is in no layer", file.display())),
                Some(there) if there > here => {
                    faults.push(format!("{}: {} uses the later layer {name}", file.display(), LAYERS[here]));
                }
                Some(_) => {}
            }
            if FORBIDDEN.contains(&(LAYERS[here], name.as_str())) {
                faults.push(format!("{}: {} may not use {name}", file.display(), LAYERS[here]));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_contents_page_lists_the_layers_in_order() {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs"))
        .expect("lib.rs is readable");
    let listed: Vec<&str> =
        text.lines().filter_map(|l| l.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert_eq!(listed, LAYERS);
}
