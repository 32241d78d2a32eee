//! The gallery of figures is what the commands on its page draw.
//!
//! Run with `SNAPSHOTS=overwrite` to draw every picture again, then look at each.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{fixtures, run_in};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The folder of the gallery, as its commands name it.
const GALLERY: &str = "crates/soaklife-charts/gallery/";

fn root() -> PathBuf {
    fixtures().join("..")
}

fn page() -> String {
    fs::read_to_string(root().join("crates/soaklife-charts/README.md")).unwrap()
}

/// What each command of the page draws: the name of the picture, and the words of the command after `soaklife`.
fn drawn_by(page: &str) -> Vec<(String, Vec<String>)> {
    let of_line = |line: &str| {
        let words: Vec<String> = line.strip_prefix("soaklife ")?.split(' ').map(str::to_owned).collect();
        let name = words.iter().find_map(|word| word.strip_prefix(GALLERY))?.to_owned();
        Some((name, words))
    };
    page.lines().filter_map(of_line).collect()
}

/// Draws a picture of the gallery into a file elsewhere.
fn draw(words: &[String], file: &Path) {
    let elsewhere = |word: &String| {
        let is_picture = word.starts_with(GALLERY);
        if is_picture { file.to_str().unwrap().to_owned() } else { word.clone() }
    };
    let words: Vec<String> = words.iter().map(elsewhere).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let output = run_in(&root(), &words);
    let complaint = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{words:?}: {complaint}");
}

#[test]
fn every_picture_is_what_its_command_draws_now() {
    let folder = tempfile::tempdir().unwrap();
    let is_overwritten = std::env::var("SNAPSHOTS").is_ok_and(|wish| wish == "overwrite");
    for (name, words) in drawn_by(&page()) {
        let (published, drawn) = (root().join(GALLERY).join(&name), folder.path().join(&name));
        draw(&words, if is_overwritten { &published } else { &drawn });
        let is_same = is_overwritten || fs::read(&drawn).unwrap() == fs::read(published).unwrap();
        assert!(
            is_same,
            "{name} is not what its command draws now: run with SNAPSHOTS=overwrite and look at it"
        );
    }
}

/// The pages of the numeric crate show copies, so that the crate is published with all it shows.
#[test]
fn the_figures_of_the_numeric_crate_are_those_of_the_gallery() {
    let is_overwritten = std::env::var("SNAPSHOTS").is_ok_and(|wish| wish == "overwrite");
    let copies: Vec<PathBuf> = fs::read_dir(root().join("crates/soaklife/figures"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .collect();
    assert!(!copies.is_empty());
    for copy in copies {
        let picture = root().join(GALLERY).join(copy.file_name().unwrap());
        if is_overwritten {
            fs::copy(&picture, &copy).unwrap();
        }
        assert!(fs::read(&copy).unwrap() == fs::read(picture).unwrap(), "{} is another", copy.display());
    }
}

#[test]
fn the_page_shows_every_picture_once_with_its_command() {
    let page = page();
    let kept: BTreeSet<String> = fs::read_dir(root().join(GALLERY))
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    let drawn: Vec<String> = drawn_by(&page).into_iter().map(|(name, _)| name).collect();
    let shown: Vec<&str> =
        page.split("](gallery/").skip(1).map(|rest| rest.split(')').next().unwrap()).collect();
    assert_eq!(drawn, shown, "each picture stands before its command");
    assert_eq!(drawn.iter().cloned().collect::<BTreeSet<_>>(), kept);
    assert_eq!(drawn.len(), kept.len(), "no picture twice");
}

/// The same drawing in every format: each figure is a page of one's report.
#[test]
fn every_figure_is_a_picture_and_a_page_of_its_size() {
    let folder = tempfile::tempdir().unwrap();
    for (name, words) in drawn_by(&page()) {
        let file = |ending: &str| folder.path().join(name.replace("svg", ending));
        for ending in ["png", "pdf"] {
            draw(&words, &file(ending));
            let once = fs::read(file(ending)).unwrap();
            draw(&words, &file(ending));
            assert!(once == fs::read(file(ending)).unwrap(), "{name} as {ending}: the same bytes every time");
        }
        assert!(fs::read(file("png")).unwrap().starts_with(b"\x89PNG"), "{name}");
        let pdf = fs::read(file("pdf")).unwrap();
        let pdf = String::from_utf8_lossy(&pdf);
        let svg = fs::read_to_string(root().join(GALLERY).join(&name)).unwrap();
        let side = |of: &str| svg.split(of).nth(1).unwrap().split("pt\"").next().unwrap().to_owned();
        let page = format!("/MediaBox[0 0 {} {}]", side(" width=\""), side(" height=\""));
        let flat: String = pdf.replace(['\n', '\r'], " ");
        assert!(flat.replace("[ ", "[").replace(" ]", "]").contains(&page), "{name}: {page}");
        for part in ["/Lang", "/StructTreeRoot", "/Alt", "/FontFile", "/ToUnicode", "/Title", "/Count 1"] {
            assert!(flat.contains(part), "{name} lacks {part}");
        }
    }
}
