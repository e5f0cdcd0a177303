//! A list that was made to grow takes no more memory than a list: it is stopped
//! at a budget while it is read, not counted afterwards.
//!
//! One test in a program of its own, since memory is counted for the whole
//! process. Not here: what each refusal says (`portfolio::import`).

use std::io::{Cursor, Write as _};

use afterturn::portfolio::import::{self, File};
use afterturn_core::kernel::Day;
use zip::{ZipArchive, ZipWriter, write::SimpleFileOptions};

const MIB: usize = 1024 * 1024;

/// What all of it together may take beyond what was handed in: the unpacked
/// files of one import, and room for the machinery.
const MOST_GROWN_BYTES: usize = 80 * MIB;

/// The most that this process ever held, from the kernel (`proc(5)`, `VmHWM`).
fn peak_bytes() -> usize {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux");
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    let kib = line.and_then(|line| line.split_whitespace().nth(1));
    kib.and_then(|kib| kib.parse::<usize>().ok())
        .expect("a figure")
        * 1024
}

fn one(name: &str, bytes: Vec<u8>) -> Vec<File> {
    let name = name.to_owned();
    vec![File {
        name,
        bytes: bytes.into(),
    }]
}

/// A ZIP file of so many folders, each with a table of 32 MiB.
fn folders_of_tables(count: usize) -> Vec<u8> {
    let mut single = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default();
    single.start_file("users.csv", options).expect("a ZIP file");
    let mebibyte = vec![b','; MIB];
    for _ in 0..32 {
        single.write_all(&mebibyte).expect("a ZIP file");
    }
    let single = single.finish().expect("a ZIP file").into_inner();
    let mut archive = ZipArchive::new(Cursor::new(single)).expect("a ZIP file");
    let mut many = ZipWriter::new(Cursor::new(Vec::new()));
    for number in 0..count {
        let entry = archive.by_index_raw(0).expect("an entry");
        let name = format!("{number}/users.csv");
        many.raw_copy_file_rename(entry, name).expect("an entry");
    }
    many.finish().expect("a ZIP file").into_inner()
}

/// A ZIP file that lists more files than anybody would count.
fn many_files(count: usize) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for number in 0..count {
        let options = SimpleFileOptions::default();
        writer
            .start_file(format!("{number}"), options)
            .expect("an entry");
    }
    writer.finish().expect("a ZIP file").into_inner()
}

/// Rows that are all cells: as many as a table may have, and as wide.
fn wide_rows() -> Vec<u8> {
    let mut text = b"class,first name\n".to_vec();
    for number in 0..150_000 {
        let row = format!("2 Blue,Child {number}{}\n", ",x".repeat(60));
        text.extend(row.as_bytes());
    }
    text
}

#[test]
fn a_list_that_was_made_to_grow_takes_no_more_memory_than_a_list() {
    let today = Day(20_782);
    let handed_in = [
        ("commas", one("list.csv", vec![b','; 12 * MIB])),
        ("rows of commas", one("list.csv", b",,,,,,,\n".repeat(MIB))),
        (
            "one long field",
            one(
                "list.csv",
                [b"class,first name\n", &vec![b'a'; 12 * MIB][..]].concat(),
            ),
        ),
        ("a ZIP of tables", one("list.zip", folders_of_tables(16))),
        ("a ZIP of many files", one("list.zip", many_files(60_000))),
        ("wide rows", one("list.csv", wide_rows())),
    ];
    let before = peak_bytes();
    for (what, files) in handed_in {
        assert!(import::read(files, "", today).is_err(), "{what} is taken");
        let grown = peak_bytes() - before;
        assert!(
            grown < MOST_GROWN_BYTES,
            "{what}: {} MiB more than was handed in",
            grown / MIB
        );
    }
}
