//! Dependencies point one way.

use std::fs;
use std::path::{Path, PathBuf};

/// Modules in layer order; each may use only those before it.
const LAYERS: [&str; 15] = [
    "quantity",
    "matter",
    "literature",
    "process",
    "unit",
    "warning",
    "trace",
    "chain",
    "scenario",
    "monte_carlo",
    "site_figures",
    "study",
    "verification",
    "report",
    "cli",
];

/// Layers that may not be used from a layer although they stand before it.
const FORBIDDEN: [(&str, &str); 11] = [
    ("report", "chain"),
    ("report", "unit"),
    ("unit", "literature"),
    ("process", "literature"),
    ("monte_carlo", "process"),
    // the command line asks studies; `mix` and `facts` still read ingredients and rates themselves
    ("cli", "warning"),
    ("cli", "unit"),
    ("cli", "trace"),
    ("cli", "chain"),
    ("cli", "monte_carlo"),
    ("cli", "site_figures"),
];

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

/// First name of a path: `b` of `b::{c, d}` and of `b as c`.
fn first_name(path: &str) -> String {
    path.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
}

/// Text up to the brace that closes the one before it, split at its outermost commas.
fn branches(text: &str) -> Vec<&str> {
    let (mut depth, mut start, mut all) = (0, 0, Vec::new());
    for (at, c) in text.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                all.push(&text[start..at]);
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                all.push(&text[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    all.retain(|branch| !branch.trim().is_empty());
    all
}

/// Modules of the crate that a source names, `use crate::{a, b::c}` included.
fn modules_used(text: &str) -> Vec<String> {
    let mut all = Vec::new();
    for part in text.split("crate::").skip(1) {
        match part.strip_prefix('{') {
            Some(nested) => all.extend(branches(nested).into_iter().map(first_name)),
            None => all.push(first_name(part)),
        }
    }
    all
}

#[test]
fn nested_imports_are_read() {
    let text =
        "use crate::{a, b::{c, d}};\nuse crate::e::f; let x = crate::g(); use crate::{\n    h as i,\n};";
    assert_eq!(modules_used(text), ["a", "b", "e", "g", "h"]);
}

#[test]
fn each_layer_uses_only_layers_before_it() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    assert!(files.len() > 20);
    let mut faults = Vec::new();
    for file in &files {
        let Some(here) = layer_of(file, &root) else { continue };
        let text = fs::read_to_string(file).expect("source is readable");
        for name in modules_used(without_tests(&text)) {
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
fn lib_rs_lists_the_layers_in_order() {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs"))
        .expect("lib.rs is readable");
    let listed: Vec<&str> =
        text.lines().filter_map(|l| l.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert_eq!(listed, LAYERS);
}
