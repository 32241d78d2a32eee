//! What is built in: every dependency has its reason in DEVELOPERS.md, a licence that `.deny.toml` allows, and the compiler it needs.

use serde_json::Value;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::Path;
use std::process::Command;

fn repository() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))
}

fn text(file: &str) -> String {
    std::fs::read_to_string(repository().join(file)).unwrap()
}

/// Of this machine only: crates for others need not have been fetched.
fn metadata() -> Value {
    let arguments = ["metadata", "--format-version", "1", "--locked", "--filter-platform", "host-tuple"];
    let told = Command::new(env!("CARGO")).args(arguments).current_dir(repository()).output().unwrap();
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    serde_json::from_slice(&told.stdout).unwrap()
}

fn strings(list: &Value) -> impl Iterator<Item = &str> {
    list.as_array().into_iter().flatten().filter_map(Value::as_str)
}

fn packages(metadata: &Value) -> HashMap<&str, &Value> {
    metadata["packages"]
        .as_array()
        .unwrap()
        .iter()
        .map(|package| (package["id"].as_str().unwrap(), package))
        .collect()
}

/// What the packages of a name are made of, without what only their tests use.
fn built_into<'v>(metadata: &'v Value, name: &str) -> HashSet<&'v str> {
    let packages = packages(metadata);
    let nodes: HashMap<&str, &Value> = metadata["resolve"]["nodes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|node| (node["id"].as_str().unwrap(), node))
        .collect();
    let mut waiting: Vec<&str> =
        packages.iter().filter(|(_, package)| package["name"] == name).map(|(id, _)| *id).collect();
    let mut built = HashSet::new();
    while let Some(id) = waiting.pop() {
        if !built.insert(id) {
            continue;
        }
        for dependency in nodes[id]["deps"].as_array().unwrap() {
            if dependency["dep_kinds"].as_array().unwrap().iter().any(|kind| kind["kind"] != "dev") {
                waiting.push(dependency["pkg"].as_str().unwrap());
            }
        }
    }
    built
}

/// The first two numbers of a version.
fn version(text: &str) -> [u64; 2] {
    let mut numbers = text.split('.').map(|number| number.parse().unwrap());
    [numbers.next().unwrap(), numbers.next().unwrap_or_default()]
}

#[test]
fn every_dependency_has_its_reason() {
    let metadata = metadata();
    let packages = packages(&metadata);
    let own: Vec<&Value> = strings(&metadata["workspace_members"]).map(|id| packages[id]).collect();
    let is_own = |name: &str| own.iter().any(|package| package["name"] == name);
    let depends_on = own.iter().flat_map(|package| package["dependencies"].as_array().unwrap());
    let used: BTreeSet<&str> = depends_on
        .map(|dependency| dependency["name"].as_str().unwrap())
        .filter(|name| !is_own(name))
        .collect();
    let developers = text("DEVELOPERS.md");
    let table = developers.split_once("| crate | for |").unwrap().1.split_once("\n\n").unwrap().0;
    let rows = table
        .lines()
        .filter_map(|row| row.strip_prefix("| ")?.split_once(" |"))
        .filter(|(first, _)| *first != "---");
    let told: BTreeSet<&str> = rows.flat_map(|(names, _)| names.split(", ")).collect();
    assert_eq!(used, told);
}

#[test]
fn the_compiler_asked_for_is_the_oldest_that_will_do() {
    let metadata = metadata();
    let packages = packages(&metadata);
    let own: HashSet<&str> = strings(&metadata["workspace_members"]).collect();
    let asked = |id: &str| packages[id]["rust_version"].as_str().map(version);
    let built = built_into(&metadata, "soaklife-cli");
    let needed = built.iter().filter(|id| !own.contains(**id)).filter_map(|id| asked(id)).max();
    assert!(built.len() > 100);
    for id in own {
        assert_eq!(asked(id), needed, "{id}");
    }
}

#[test]
fn every_licence_is_allowed() {
    let deny = text(".deny.toml");
    let list = deny.split_once("\nallow = [").unwrap().1.split_once("\n]").unwrap().0;
    let allowed: HashSet<&str> = list
        .lines()
        .filter_map(|line| line.trim().strip_prefix('"')?.split_once('"'))
        .map(|(name, _)| name)
        .collect();
    // Stricter than the rules of SPDX where they nest: each part that must hold has a choice that is allowed.
    let is_allowed = |licence: &str| {
        licence
            .replace('/', " OR ")
            .split(" AND ")
            .all(|part| part.trim_matches(['(', ')']).split(" OR ").any(|choice| allowed.contains(choice)))
    };
    let metadata = metadata();
    for package in packages(&metadata).values() {
        let licence = package["license"].as_str().unwrap_or("none given");
        assert!(is_allowed(licence), "{}: {licence}", package["name"]);
    }
}
