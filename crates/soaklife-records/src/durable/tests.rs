//! Where files end up, and what is left when the disk refuses.

use super::disk::refusals::{self, REFUSALS, Refused, names};
use super::*;

#[cfg(target_os = "linux")]
#[test]
fn a_device_is_written_to_and_not_replaced() {
    use std::os::unix::fs::FileTypeExt as _;
    let device = Path::new("/dev/full");
    let refused = write(device, b"pit_id\n").unwrap_err();
    assert!(
        matches!(&refused, WriteError::Stream { source, .. } if source.kind() == ErrorKind::StorageFull),
        "{refused}"
    );
    assert!(fs::metadata(device).unwrap().file_type().is_char_device());
}

#[test]
fn what_was_left_unfinished_is_removed_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("readings.csv");
    for name in ["readings.csv", ".readings.csv.x1.tmp", ".pits.csv.x1.tmp", "readings.csv.bak"] {
        fs::write(folder.path().join(name), "x").unwrap();
    }
    remove_unfinished(&path);
    let mut left: Vec<String> = fs::read_dir(folder.path())
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    left.sort();
    assert_eq!(left, [".pits.csv.x1.tmp", "readings.csv", "readings.csv.bak"]);
}

#[cfg(unix)]
#[test]
fn a_new_file_is_an_ordinary_one_and_named_only_when_whole() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let ordinary = folder.path().join("ordinary");
    fs::write(&ordinary, "x").unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let seen = || fs::read_dir(folder.path()).unwrap().count();
    let path = folder.path().join("forecast.csv");
    let unnamed = || unnamed::create(folder.path()).map(Body::Unnamed);
    let named = || named_beside(&path).map(Body::Named);
    // A file system without unnamed files is no fault.
    for body in [&unnamed as &dyn Fn() -> io::Result<Body>, &named].iter().filter_map(|body| body().ok()) {
        let named = usize::from(matches!(body, Body::Named(_)));
        let mut draft = Draft { body, path: path.clone(), target: path.clone(), is_stream: false };
        draft.add(b"whole").unwrap();
        assert_eq!((path.exists(), seen()), (false, 1 + named));
        draft.put_in_place().unwrap();
        assert_eq!((fs::read(&path).unwrap(), mode(&path), seen()), (b"whole".to_vec(), mode(&ordinary), 2));
        fs::remove_file(&path).unwrap();
    }
}

/// Also where the file system knows no links.
#[cfg(unix)]
#[test]
fn a_name_is_taken_from_nobody() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pits.csv");
    let unnamed = || unnamed::create(folder.path()).map(Body::Unnamed);
    let named = || named_beside(&path).map(Body::Named);
    let take = |body: Body, refused: Refused| {
        let mut draft = Draft { body, path: path.clone(), target: path.clone(), is_stream: false };
        draft.add(b"ours").unwrap();
        refusals::with(refused, 95, || draft.take_name()).0
    };
    let (nothing, links) = (Refused::Only(usize::MAX), Refused::Only(0));
    let bodies = [(&unnamed as &dyn Fn() -> io::Result<Body>, nothing), (&named, nothing), (&named, links)];
    for (body, refused) in bodies {
        // A file system without unnamed files is no fault.
        let Ok(first) = body() else { continue };
        take(first, refused).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"ours");
        fs::write(&path, "theirs").unwrap();
        let late = take(body().unwrap(), refused).unwrap_err();
        assert_eq!(late.kind(), ErrorKind::AlreadyExists, "{refused:?}: {late}");
        assert_eq!(fs::read(&path).unwrap(), b"theirs");
        assert_eq!(names(folder.path()), ["pits.csv"], "{refused:?}");
        fs::remove_file(&path).unwrap();
    }
}

#[cfg(unix)]
#[test]
fn a_link_is_followed_and_permissions_stay() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let (real, link) = (folder.path().join("real.csv"), folder.path().join("link.csv"));
    fs::write(&real, "old").unwrap();
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
    std::os::unix::fs::symlink(&real, &link).unwrap();
    write(&link, b"new").unwrap();
    assert_eq!(fs::read(&real).unwrap(), b"new");
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
}

/// Every call is refused in turn, alone and with all after it: the old file or the new one is there, whole, and nothing else.
#[cfg(unix)]
#[test]
fn whatever_the_disk_refuses_the_file_is_whole_and_what_is_said_is_true() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("forecast.csv");
    let write_in_pieces = || -> Result<(), WriteError> {
        let mut draft = Draft::beside(&path)?;
        draft.add(b"half of the old walk")?;
        draft.start_again()?;
        draft.add(b"new, ")?;
        draft.add(b"whole")?;
        draft.put_in_place()
    };
    for (code, advice) in REFUSALS {
        for old in [Some("old"), None] {
            let begin = || {
                let _ = fs::remove_file(&path);
                old.into_iter().for_each(|old| fs::write(&path, old).unwrap());
            };
            let mut kinds = (0, 0, 0);
            refusals::each_in_turn(
                code,
                || {
                    begin();
                    write_in_pieces()
                },
                |outcome, refused| {
                    let left = fs::read_to_string(&path).ok();
                    let told = outcome.as_ref().map_or_else(ToString::to_string, |()| String::new());
                    match outcome {
                        Err(WriteError::Refused { .. }) => {
                            kinds.0 += 1;
                            assert_eq!(left.as_deref(), old, "{refused:?}: {told}");
                            assert!(told.starts_with(path.to_str().unwrap()), "{told}");
                            assert!(
                                told.contains(advice) && told.ends_with("; nothing was changed"),
                                "{told}"
                            );
                        }
                        Err(WriteError::Unconfirmed { .. }) => {
                            kinds.1 += 1;
                            assert_eq!(left.as_deref(), Some("new, whole"), "{refused:?}: {told}");
                            assert!(told.contains("was written, but the disk does not confirm"), "{told}");
                        }
                        Ok(()) => {
                            kinds.2 += 1;
                            assert_eq!(left.as_deref(), Some("new, whole"), "{refused:?}");
                        }
                        Err(WriteError::Stream { .. }) => panic!("{refused:?}: {told}"),
                    }
                    let left = names(folder.path());
                    assert!(left.is_empty() || left == ["forecast.csv"], "{refused:?}: {left:?}");
                },
            );
            // The flush of the folder comes too late to refuse; where files without a name are refused, one with a name will do.
            assert!(kinds.0 >= 8 && kinds.1 == 2 && kinds.2 <= 1, "{kinds:?}");
        }
    }
}

/// Network folders that cannot flush a folder say so, and nothing is wrong.
#[cfg(unix)]
#[test]
fn a_folder_that_cannot_be_flushed_is_no_failure() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("forecast.csv");
    fs::write(&path, b"old").unwrap(); // so that each time as many calls are made
    let whole = || write(&path, b"whole");
    let calls = refusals::with(Refused::Only(usize::MAX), 22, whole).1;
    let (outcome, _) = refusals::with(Refused::Only(calls - 1), 22, whole); // EINVAL
    assert!(outcome.is_ok(), "{outcome:?}");
}
