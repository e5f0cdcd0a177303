//! Lists of classes and children of any bytes: a table, an exchange of several,
//! either of them packed.
//!
//! Not here: taking a list into a vault.

use std::collections::BTreeSet;

use afterturn::portfolio::import::{self, File, Issue, List, Plan, Planned};
use afterturn_core::kernel::{Day, Name};

/// A name that stands in a cell and must stand nowhere else.
const CANARY: &str = "Zyxwanda";

const TODAY: Day = Day(20_782);

/// Stands between the files of an exchange: ASCII's file separator.
const BETWEEN: u8 = 0x1c;

/// What is told at once.
const MOST_ISSUES: usize = 100;

/// Headings, cells and signs of such files.
pub const WORDS: &[&[u8]] = &[
    b"class,grade,first name,last name,number,group\n",
    b"2 Blue,2,Zyxwanda,Winter,17,3\n",
    b"Clase;Nombre;Apellidos;Grupo\r\n",
    b"sourcedId,title,grades\n",
    b"sourcedId,givenName,familyName,preferredGivenName,status\n",
    b"classSourcedId,userSourcedId,role,endDate\n",
    b"student",
    b"tobedeleted",
    b"2026-01-01",
    b"Zyxwanda",
    b"zyxwanda",
    b"\"Stone, \"\"Ida\"\"\"",
    b"Nu\xc3\xb1ez",
    b"Nun\xcc\x83ez",
    b"Zo\xeb",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"PK\x03\x04",
    b"PK\x01\x02",
    b"PK\x05\x06",
    b"\x1c",
    b"\0",
    b",",
    b";",
    b"\t",
    b"\"",
    b"\n",
    b"\r\n",
    b"100",
];

/// Whatever the bytes, there is one answer, always the same:
///
/// - refused, with one to a hundred mistakes, each at a line and column from 1,
///   with a sentence of its own, and none quotes a cell;
/// - or taken, and then every child is in one of its classes, its group and
///   names within their bounds, and no number is there twice;
/// - what is taken into an empty roster is all new, and read once more it
///   changes nothing and misses nobody.
pub fn list(data: &[u8]) {
    match (read(data), read(data)) {
        (Ok(list), Ok(again)) => {
            within_bounds(&list);
            taken_twice(list, again);
        }
        (Err(issues), Err(again)) => {
            assert_eq!(issues, again);
            told(&issues, data);
        }
        _ => panic!("taken once and refused once"),
    }
}

/// The files that the bytes stand for: one alone, or as many as an exchange has.
fn files(data: &[u8]) -> Vec<File> {
    let names = [
        "classes.csv",
        "users.csv",
        "enrollments.csv",
        "manifest.csv",
    ];
    let file = |(name, bytes): (&str, &[u8])| File {
        name: name.to_owned(),
        bytes: bytes.to_vec().into(),
    };
    if data.starts_with(b"PK") || !data.contains(&BETWEEN) {
        return vec![file(("list.csv", data))];
    }
    let parts = data.split(|byte| *byte == BETWEEN);
    names.into_iter().zip(parts).map(file).collect()
}

/// Reads them.
pub fn read(data: &[u8]) -> Result<List, Vec<Issue>> {
    import::read(files(data), "", TODAY)
}

fn told(issues: &[Issue], data: &[u8]) {
    assert!(!issues.is_empty(), "refused without a reason");
    assert!(issues.len() <= MOST_ISSUES);
    // Unpacked there may be more lines than bytes.
    let most = if data.starts_with(b"PK") {
        u32::MAX
    } else {
        data.len() as u32 + 1
    };
    for issue in issues {
        assert!((1..=most).contains(&issue.line), "line {}", issue.line);
        assert!(issue.column.is_none_or(|column| column >= 1));
        assert!(issue.what.sentence().starts_with("import-"));
    }
    let said = format!("{issues:?}");
    assert!(!said.contains(CANARY), "a mistake quotes a cell: {said}");
}

fn within_bounds(list: &List) {
    let short = |name: &Name| (1..=120).contains(&name.for_page().chars().count());
    assert!(list.classes.iter().all(|class| short(&class.title)));
    let mut numbers = BTreeSet::new();
    for child in &list.children {
        assert!(child.class < list.classes.len(), "in no class");
        assert!(short(&child.given) && child.family.iter().all(short));
        assert!(child.group.is_none_or(|group| (1..=99).contains(&group)));
        if let Some(number) = &child.number {
            assert!(numbers.insert(number), "a number twice");
        }
    }
}

fn taken_twice(list: List, again: List) {
    // An id leaves out the lowest bit.
    let mut ids = (2_u64..).step_by(2);
    let mut fresh = || ids.next().unwrap_or_default();
    let (classes, children) = (list.classes.len(), list.children.len());
    let first = Plan::new(list, &[], &[], &mut fresh);
    assert_eq!(first.count(Planned::New), children, "not all are new");
    assert_eq!(first.classes.len(), classes);
    let classes: Vec<_> = first.classes.into_iter().map(|(class, _)| class).collect();
    let there: Vec<_> = first.children.into_iter().map(|(child, _)| child).collect();
    let second = Plan::new(again, &classes, &there, &mut fresh);
    assert_eq!(second.count(Planned::Same), children, "somebody changes");
    assert!(second.missing.is_empty(), "somebody is missing");
    let same = |(_, what): &(_, Planned)| *what == Planned::Same;
    assert!(second.classes.iter().all(same), "a class changes");
}

/// What a school's systems write.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    let table: &[u8] = b"class,grade,first name,last name,number,group\n\
        2 Blue,2,Zyxwanda,Winter,17,1\n2 Blue,2,Ida,\"Stone, \"\"Jr\"\"\",18,2\n\
        3 Red,3,Zyxwanda,Winter,19,\n3 Red,3,Bo,,,1\n";
    let semicolons: &[u8] = b"Clase;Nombre;Apellidos;Grupo\r\n2 Azul;Zo\xc3\xab;N\xc3\xba\xc3\xb1ez;1\r\n2 Azul;Bo;Field;2\r\n";
    let classes: &[u8] =
        b"sourcedId,status,title,grades\nc1,active,PE 2 Blue,02\nc2,active,Reading 2 Blue,02\n";
    let users: &[u8] = b"sourcedId,status,givenName,familyName,preferredGivenName,phone\n\
        u1,active,Zyxwanda,Winter,,555\nu2,active,Ida,Stone,Idi,555\nu3,tobedeleted,Bo,Field,,555\n";
    let enrolments: &[u8] = b"classSourcedId,userSourcedId,role,endDate\n\
        c1,u1,student,\nc1,u2,student,2027-06-30\nc2,u2,student,2026-01-31\nc1,u9,teacher,\n";
    let manifest: &[u8] = b"propertyName,value\noneroster.version,1.2\nfile.classes,bulk\n";
    let exchange = [classes, users, enrolments, manifest].join(&BETWEEN);
    let packed = packed(&[
        ("classes.csv", classes),
        ("users.csv", users),
        ("enrollments.csv", enrolments),
    ]);
    let sixteen: Vec<u8> = "class,first name\n2 Blue,Zoë\n"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    let sixteen = [&[0xff, 0xfe], &sixteen[..]].concat();
    vec![
        table.to_vec(),
        semicolons.to_vec(),
        exchange,
        packed,
        sixteen,
    ]
}

/// A ZIP file whose entries are stored as they are (PKWARE APPNOTE 6.3.10 §4.3).
fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
    let (mut out, mut directory) = (Vec::new(), Vec::new());
    for (name, content) in files {
        let at = out.len() as u32;
        let length = (content.len() as u32).to_le_bytes();
        let mut head = vec![20, 0, 0, 0, 0, 0, 0, 0, 0, 0];
        head.extend(check_sum(content).to_le_bytes());
        head.extend(length);
        head.extend(length);
        head.extend((name.len() as u16).to_le_bytes());
        head.extend([0, 0]);
        out.extend(b"PK\x03\x04");
        out.extend(&head);
        out.extend(name.as_bytes());
        out.extend(*content);
        directory.extend(b"PK\x01\x02\x14\0");
        directory.extend(&head);
        directory.extend([0; 10]);
        directory.extend(at.to_le_bytes());
        directory.extend(name.as_bytes());
    }
    let at = out.len() as u32;
    out.extend(&directory);
    out.extend(b"PK\x05\x06\0\0\0\0");
    for _ in 0..2 {
        out.extend((files.len() as u16).to_le_bytes());
    }
    out.extend((directory.len() as u32).to_le_bytes());
    out.extend(at.to_le_bytes());
    out.extend([0, 0]);
    out
}

/// CRC-32 (ISO 3309), reckoned here anew.
fn check_sum(bytes: &[u8]) -> u32 {
    let mut sum = u32::MAX;
    for byte in bytes {
        sum ^= u32::from(*byte);
        for _ in 0..8 {
            let low = sum & 1;
            sum >>= 1;
            sum ^= low * 0xedb8_8320;
        }
    }
    !sum
}
