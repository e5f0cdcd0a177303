//! Lists as schools write them, good and bad, and what comes of them.

use super::zip::tests::packed;
use super::*;
use crate::portfolio::roster::{Child, Class};

const TODAY: Day = Day(20_782);

fn file(name: &str, text: &str) -> File {
    File {
        name: name.to_owned(),
        bytes: text.as_bytes().to_vec().into(),
    }
}

fn list(text: &str) -> List {
    match read(vec![file("list.csv", text)], "", TODAY) {
        Ok(list) => list,
        Err(issues) => panic!("{issues:?}"),
    }
}

fn issues(files: Vec<File>) -> Vec<(&'static str, u32, Option<u32>, What)> {
    let Err(issues) = read(files, "", TODAY) else {
        panic!("nothing was wrong");
    };
    let place = |i: Issue| (i.file, i.line, i.column, i.what);
    issues.into_iter().map(place).collect()
}

fn shown(list: &List) -> Vec<String> {
    let show = |name: &Name| name.for_page().to_owned();
    list.children
        .iter()
        .map(|child| {
            let class = &list.classes[child.class].title;
            let family = child.family.as_ref().map_or_else(String::new, show);
            format!(
                "{}/{}/{family}/{:?}",
                show(class),
                show(&child.given),
                child.group
            )
        })
        .collect()
}

#[test]
fn a_plain_table_is_read_in_both_languages() {
    let english = "Class,Grade,First name,Last name,Group\n2 Blue,2,Ada,Winter,1\n2 Blue,2,Bo,,\n";
    let spanish =
        "clase;grado;nombre;apellidos;grupo\r\n2 Blue;2;Ada;Winter;1\r\n2 Blue;2;Bo;;\r\n";
    let expected = ["2 Blue/Ada/Winter/Some(1)", "2 Blue/Bo//None"];
    assert_eq!(shown(&list(english)), expected);
    assert_eq!(shown(&list(spanish)), expected);
}

#[test]
fn only_the_classes_asked_for_are_read() {
    let text = "class,first name\nPE 2,Ada\nReading 2,Ada\npe 3,Bo\n";
    let list = read(vec![file("", text)], "PE", TODAY).expect("a list");
    assert_eq!(shown(&list), ["PE 2/Ada//None", "pe 3/Bo//None"]);
}

#[test]
fn every_mistake_is_told_by_its_place_and_never_by_what_stands_there() {
    let text = "class,first name,last name,number,group\n\
        2 Blue,Canary,,17,0\n\
        ,Canary,,,\n\
        2 Blue,,,,\n\
        2 Blue,Ada,Winter,17,\n\
        2 Blue,Bo,,,\n\
        2 Blue,BO,,,\n";
    let found = read(vec![file("", text)], "", TODAY).err().expect("issues");
    let said = format!("{found:?}");
    assert!(!said.contains("Canary") && !said.contains("17"), "{said}");
    let places: Vec<_> = found.iter().map(|i| (i.line, i.column, i.what)).collect();
    assert_eq!(
        places,
        [
            (2, Some(5), What::Group),
            (3, Some(1), What::Missing),
            (4, Some(2), What::Missing),
            (7, Some(2), What::SameChild),
        ]
    );
    let twice = "class,first name,number\na,Ada,17\nb,Bo,17\n";
    let found = issues(vec![file("", twice)]);
    assert_eq!(found, [("", 3, Some(3), What::SameNumber)]);
}

#[test]
fn what_is_no_table_is_said_to_be_none() {
    for (text, what) in [
        ("", What::Empty),
        ("first name\nAda\n", What::NoColumn),
        ("class,class,first name\n", What::ColumnTwice),
        ("class,first name\n\"2 Blue,Ada\n", What::Quotes),
    ] {
        assert_eq!(issues(vec![file("", text)])[0].3, what, "{text}");
    }
    let sheet = packed(&[("xl/workbook.xml", b"<x/>")]);
    let sheet = File {
        name: "list.xlsx".to_owned(),
        bytes: sheet.into(),
    };
    assert_eq!(issues(vec![sheet])[0].3, What::Spreadsheet);
}

#[test]
fn a_list_without_a_name_in_it_is_refused() {
    let heading = "class,first name,last name\n";
    for nobody in [heading.to_owned(), heading.to_owned() + &",,\n".repeat(9)] {
        assert_eq!(
            issues(vec![file("", &nobody)]),
            [("", 1, None, What::Nobody)]
        );
    }
    assert_eq!(issues(vec![file("", ",,,,\n,,,,\n")])[0].3, What::Empty);
    let table = file("", "class,first name\nReading 2,Ada\n");
    let found = read(vec![table], "PE", TODAY).err().expect("an issue");
    assert_eq!(found[0].what, What::NoneAskedFor);
}

#[test]
fn no_more_classes_and_children_are_read_than_are_taken_at_once() {
    use super::budget::{MOST_CHILDREN, MOST_CLASSES};
    let children = |count: usize| {
        let rows = (0..count).map(|n| format!("2 Blue,Child {n}\n"));
        "class,first name\n".to_owned() + &rows.collect::<String>()
    };
    assert_eq!(list(&children(MOST_CHILDREN)).children.len(), MOST_CHILDREN);
    let line = MOST_CHILDREN as u32 + 2;
    let found = issues(vec![file("", &children(MOST_CHILDREN + 9))]);
    assert_eq!(found, [("", line, Some(1), What::ManyChildren)]);
    let rows = (0..=MOST_CLASSES).map(|n| format!("Class {n},Ada\n"));
    let classes = "class,first name\n".to_owned() + &rows.collect::<String>();
    let found = issues(vec![file("", &classes)]);
    assert_eq!(found[0].3, What::ManyClasses);
    let users = (0..=MOST_CHILDREN).map(|n| format!("u{n},Ada,Winter\n"));
    let users = "sourcedId,givenName,familyName\n".to_owned() + &users.collect::<String>();
    let enrolled = (0..=MOST_CHILDREN).map(|n| format!("c1,u{n},student\n"));
    let enrolled = "classSourcedId,userSourcedId,role\n".to_owned() + &enrolled.collect::<String>();
    let parts = [
        ("classes.csv", "sourcedId,title\nc1,PE 2\n"),
        ("users.csv", users.as_str()),
        ("enrollments.csv", enrolled.as_str()),
    ];
    let found = issues(files(&parts));
    assert_eq!(
        found,
        [("enrollments.csv", line, Some(2), What::ManyChildren)]
    );
}

#[test]
fn the_tables_of_an_import_count_together_and_each_is_there_once() {
    let half = " ".repeat(super::budget::MOST_BYTES / 2 + 1);
    let found = issues(files(&[("classes.csv", &half), ("users.csv", &half)]));
    assert_eq!(found[0].3, What::ManyBytes);
    let packed = packed(&[("users.csv", b"a"), ("old/users.csv", b"b")]);
    let zip = File {
        name: "roster.zip".to_owned(),
        bytes: packed.into(),
    };
    assert_eq!(issues(vec![zip]), [("users.csv", 1, None, What::FileTwice)]);
}

#[test]
fn every_limit_is_named_in_its_sentence_and_by_its_number() {
    for what in [
        What::ManyBytes,
        What::ManyFiles,
        What::ManyRows,
        What::ManyColumns,
        What::LongField,
        What::ManyClasses,
        What::ManyChildren,
    ] {
        let sentences = [
            include_str!("../../../web/words/vault/en.ftl"),
            include_str!("../../../web/words/vault/es.ftl"),
        ];
        for sentences in sentences {
            let begins = format!("{} = ", what.sentence());
            let sentence = sentences.lines().find(|line| line.starts_with(&begins));
            assert!(
                sentence.is_some_and(|s| s.contains("{ $most }")),
                "{begins}"
            );
        }
        assert!(what.most().is_some_and(|most| most > 0));
    }
}

const MANIFEST: &str = "propertyName,value\nmanifest.version,1.0\noneroster.version,1.1\n\
    file.classes,bulk\nfile.users,bulk\nfile.enrollments,bulk\n";
const CLASSES: &str = "sourcedId,status,dateLastModified,title,grades,courseSourcedId,classCode,\
    classType,location,schoolSourcedId,termSourcedIds,subjects,subjectCodes,periods\n\
    c1,,,PE 2 Blue,02,k1,,scheduled,Gym,s1,t1,,,1\n\
    c2,,,Reading 2,02,k2,,scheduled,,s1,t1,,,2\n\
    c3,tobedeleted,2026-08-01,Old PE,02,k1,,scheduled,,s1,t1,,,3\n";
const USERS: &str = "sourcedId,status,dateLastModified,enabledUser,orgSourcedIds,role,username,\
    userIds,givenName,familyName,middleName,identifier,email,sms,phone,agentSourcedIds,grades,\
    password\n\
    u1,,,true,s1,student,,,Ada,Winter,,,,,,p1,02,\n\
    u2,,,true,s1,student,,,Bo,Field,,,,,,,02,\n\
    t1,,,true,s1,teacher,,,Tess,Hall,,,,,,,,\n\
    p1,,,true,s1,parent,,,Pat,Winter,,,,,,,,\n";
const ENROLMENTS: &str = "sourcedId,status,dateLastModified,classSourcedId,schoolSourcedId,\
    userSourcedId,role,primary,beginDate,endDate\n\
    e1,,,c1,s1,u1,student,,2026-08-20,2027-06-10\n\
    e2,,,c1,s1,u2,student,,,\n\
    e3,,,c2,s1,u1,student,,,\n\
    e4,,,c1,s1,t1,teacher,true,,\n\
    e5,tobedeleted,2026-09-01,c1,s1,u9,student,,,\n\
    e6,,,c1,s1,u7,student,,2025-08-20,2026-06-10\n";

fn exchange() -> Vec<(&'static str, &'static str)> {
    vec![
        ("manifest.csv", MANIFEST),
        ("classes.csv", CLASSES),
        ("users.csv", USERS),
        ("enrollments.csv", ENROLMENTS),
    ]
}

fn files(parts: &[(&str, &str)]) -> Vec<File> {
    parts.iter().map(|(name, text)| file(name, text)).collect()
}

#[test]
fn an_exchange_is_read_as_files_or_as_one_zip() {
    let parts = exchange();
    let packed: Vec<(&str, &[u8])> = parts.iter().map(|(n, t)| (*n, t.as_bytes())).collect();
    let zip = File {
        name: "roster.zip".to_owned(),
        bytes: self::packed(&packed).into(),
    };
    for files in [files(&parts), vec![zip]] {
        let list = read(files, "pe", TODAY).expect("a list");
        let expected = ["PE 2 Blue/Ada/Winter/None", "PE 2 Blue/Bo/Field/None"];
        assert_eq!(shown(&list), expected);
        // Teachers, parents, lessons that are over and rows to go are not there.
        assert_eq!(list.classes.len(), 1);
    }
}

#[test]
fn a_child_in_two_lessons_is_said_and_how_to_choose() {
    let found = issues(files(&exchange()));
    assert_eq!(found, [("enrollments.csv", 4, Some(6), What::TwoClasses)]);
}

#[test]
fn an_exchange_that_does_not_fit_together_is_not_taken() {
    let with = |name: &'static str, from: &str, to: &str| {
        let change = |(n, text): (&'static str, &'static str)| {
            let text = if n == name {
                text.replace(from, to)
            } else {
                text.to_owned()
            };
            file(n, &text)
        };
        exchange().into_iter().map(change).collect::<Vec<File>>()
    };
    for (name, from, to, place) in [
        (
            "enrollments.csv",
            "c1,s1,u2",
            "c8,s1,u2",
            ("enrollments.csv", 3, Some(4), What::Unknown),
        ),
        (
            "enrollments.csv",
            "c1,s1,u2",
            "c1,s1,u8",
            ("enrollments.csv", 3, Some(6), What::Unknown),
        ),
        (
            "users.csv",
            "u2,,",
            "u1,,",
            ("users.csv", 3, Some(1), What::SameNumber),
        ),
        (
            "users.csv",
            "Bo,Field",
            ",Field",
            ("users.csv", 3, Some(9), What::Missing),
        ),
        (
            "manifest.csv",
            "version,1.1",
            "version,2.0",
            ("manifest.csv", 3, Some(2), What::Version),
        ),
        (
            "classes.csv",
            "sourcedId",
            "id",
            ("classes.csv", 1, None, What::NoColumn),
        ),
    ] {
        assert!(issues(with(name, from, to)).contains(&place), "{place:?}");
    }
    let without: Vec<_> = exchange()
        .into_iter()
        .filter(|(n, _)| *n != "users.csv")
        .collect();
    assert_eq!(
        issues(files(&without)),
        [("users.csv", 1, None, What::NoFile)]
    );
}

/// What is here after a list was taken.
fn taken(text: &str, classes: &mut Vec<Class>, children: &mut Vec<Child>) -> Plan {
    let mut bits = (children.len() as u64 + 1) * 1000;
    let plan = Plan::new(list(text), classes, children, || {
        bits += 2;
        bits
    });
    for (class, _) in &plan.classes {
        classes.retain(|known| known.id != class.id);
        classes.push(class.clone());
    }
    for (child, _) in &plan.children {
        children.retain(|known| known.id != child.id);
        children.push(child.clone());
    }
    plan
}

#[test]
fn the_same_list_again_changes_nothing() {
    let (mut classes, mut children) = (Vec::new(), Vec::new());
    let text = "class,first name,last name,number\n2 Blue,Ada,Winter,17\n2 Blue,Bo,Field,\n";
    assert_eq!(
        taken(text, &mut classes, &mut children).count(Planned::New),
        2
    );
    let again = taken(text, &mut classes, &mut children);
    assert_eq!((again.count(Planned::Same), again.missing.len()), (2, 0));
    assert_eq!(children.len(), 2);
}

#[test]
fn renamed_and_moved_children_stay_who_they_are() {
    let (mut classes, mut children) = (Vec::new(), Vec::new());
    let first = "class,first name,last name,number,group\n2 Blue,Ada,Winter,17,3\n2 Blue,Bo,Field,,1\n\
        2 Blue,Cy,Stone,,2\n";
    taken(first, &mut classes, &mut children);
    let id = |children: &[Child], given: &str| {
        let found = children.iter().find(|c| c.given.for_page() == given);
        found.map(|c| (c.id, c.group)).expect("this child")
    };
    let (ada, bo) = (id(&children, "Ada").0, id(&children, "Bo").0);
    // By number through a new name; by name into another class.
    let second = "class,first name,last name,number\n2 Blue,Adele,Winter-Snow,17\n2 Red,Bo,Field,\n\
        2 Blue,Cy,Stone,\n";
    let plan = taken(second, &mut classes, &mut children);
    assert_eq!(plan.count(Planned::Renamed), 1);
    assert_eq!(plan.count(Planned::Moved), 1);
    assert_eq!(plan.count(Planned::New), 0);
    assert_eq!(id(&children, "Adele"), (ada, Some(3)));
    assert_eq!(
        id(&children, "Bo"),
        (bo, None),
        "its group was another class's"
    );
    assert_eq!(children.len(), 3);
}

#[test]
fn two_children_of_one_name_are_two() {
    let (mut classes, mut children) = (Vec::new(), Vec::new());
    taken(
        "class,first name\n2 Blue,Ada\n2 Red,Ada\n",
        &mut classes,
        &mut children,
    );
    assert_eq!(children.len(), 2);
    // One more elsewhere could be either of them: she is new, nobody moves.
    let plan = taken(
        "class,first name\n3 Blue,Ada\n",
        &mut classes,
        &mut children,
    );
    assert_eq!(plan.count(Planned::New), 1);
    // Who is not listed any more is named, and stays.
    let plan = taken("class,first name\n2 Blue,Bo\n", &mut classes, &mut children);
    assert_eq!((plan.missing.len(), children.len()), (1, 4));
}
