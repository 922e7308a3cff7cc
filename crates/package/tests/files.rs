//! A design reads files of its own folder only.

use facedown_package::{FileError, Files, Folder, read};

#[test]
fn a_folder_gives_its_own_files_and_nothing_else() {
    let root = tempfile::tempdir().unwrap();
    let design = root.path().join("design");
    std::fs::create_dir_all(design.join("tables")).unwrap();
    std::fs::write(design.join("tables/pads.csv"), "x").unwrap();
    std::fs::write(root.path().join("secret.csv"), "y").unwrap();
    let folder = Folder::new(&design);
    assert_eq!(folder.read("tables/pads.csv", 10).unwrap(), b"x");
    assert_eq!(folder.read("./tables/pads.csv", 10).unwrap(), b"x");
    let absolute = root.path().join("secret.csv").display().to_string();
    for outside in ["../secret.csv", "tables/../../secret.csv", absolute.as_str()] {
        assert_eq!(folder.read(outside, 10), Err(FileError::Outside(outside.into())));
    }
    assert_eq!(folder.read("none.csv", 10), Err(FileError::NotFound("none.csv".into())));
    assert_eq!(
        folder.read("tables/pads.csv", 0),
        Err(FileError::TooLarge { path: "tables/pads.csv".into(), limit: 0 })
    );
    assert!(matches!(folder.read("tables", 10), Err(FileError::Refused { .. })));
}

#[cfg(unix)]
#[test]
fn a_symbolic_link_does_not_lead_out_of_the_folder() {
    let root = tempfile::tempdir().unwrap();
    let design = root.path().join("design");
    std::fs::create_dir(&design).unwrap();
    std::fs::write(root.path().join("secret.csv"), "y").unwrap();
    std::os::unix::fs::symlink(root.path().join("secret.csv"), design.join("pads.csv")).unwrap();
    assert_eq!(Folder::new(&design).read("pads.csv", 10), Err(FileError::Outside("pads.csv".into())));
}

#[test]
fn a_missing_design_file_is_a_finding() {
    let root = tempfile::tempdir().unwrap();
    let reading = read(&Folder::new(root.path()), "design.toml");
    assert!(reading.design.is_none());
    assert_eq!(reading.findings[0].code, "file-missing");
    assert!(!reading.is_runnable());
}
