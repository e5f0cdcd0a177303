//! A day with the vault, as a school has it, and one after: then every file that
//! changed anywhere on the machine is searched for a child's name.
//!
//! Not here: the pages (`web/browser/vault.mjs` goes that way, and searches too).

use std::{
    fs::File,
    path::Path,
    process::Command,
    sync::{Arc, Mutex},
    time::{Duration, SystemTime},
};

use afterturn::{
    portfolio::{About, Cost, Moment, NewChild, Portfolio, Said, VaultError, import},
    store::atomic,
};
use afterturn_core::{
    consent::{Interval, Kind, Medium, Purpose, Request, ViewRule},
    kernel::{CaptureUs, Day, Name},
};

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";

fn at(day: Day) -> Moment {
    Moment {
        today: day,
        now: CaptureUs(day.0 as u64 * 86_400_000_000 + 36_000_000_000),
    }
}

fn name(text: &str) -> Name {
    Name::new(text).expect("a name")
}

/// A name that nobody else on this machine can have written, and that is not in
/// this program either.
fn canary() -> String {
    let mut left = afterturn::portfolio::random_number();
    let sign = || {
        left /= 26;
        char::from(b'a' + (left % 26) as u8)
    };
    let middle: String = std::iter::repeat_with(sign).take(9).collect();
    format!("Zyx{middle}wanda")
}

fn file(called: &str, text: String) -> import::File {
    import::File {
        name: called.to_owned(),
        bytes: text.into_bytes().into(),
    }
}

/// A list with mistakes, the same without, and an export.
fn lists(portfolio: &Portfolio, canary: &str) {
    let table = |group| {
        format!("class,first name,last name,note,group\n{canary} 2,{canary},{canary},x,{group}\n")
    };
    let wrong = import::read(vec![file("list.csv", table("five"))], "", TODAY);
    let issues = format!("{:?}", wrong.err().expect("not a group"));
    assert!(!issues.contains(canary), "{issues}");
    let export = vec![
        file("classes.csv", format!("sourcedId,title\nc1,{canary} 3\n")),
        file(
            "users.csv",
            format!("sourcedId,givenName,familyName\nu1,{canary},{canary}\n"),
        ),
        file(
            "enrollments.csv",
            "classSourcedId,userSourcedId,role\nc1,u1,student\n".to_owned(),
        ),
    ];
    for files in [vec![file("list.csv", table("5"))], export] {
        let list = import::read(files, "", TODAY).expect("a good list");
        let token = portfolio.plan(list, at(TODAY)).expect("planned");
        portfolio.take(token, at(TODAY)).expect("taken");
    }
}

/// Everything that writes, from the first sign-in to the next morning.
fn day_and_night(folder: &Path, canary: &str) {
    let open = |day| Portfolio::open(folder, Cost::LEAST, day);
    let portfolio = open(TODAY);
    portfolio.unlock(WORDS, at(TODAY)).expect("made");
    portfolio
        .choose_rule(ViewRule::OptIn, at(TODAY))
        .expect("chosen");
    lists(&portfolio, canary);
    let roster = portfolio.roster(at(TODAY)).expect("a roster");
    let class = roster.classes[0].id;
    let new = || NewChild {
        given: name(canary),
        family: Some(name(canary)),
        note: Some(name(canary)),
        group: None,
    };
    let child = portfolio
        .add_child(class, new(), at(TODAY))
        .expect("a child");
    let other = portfolio
        .add_child(class, new(), at(TODAY))
        .expect("another");
    for (kind, yes) in [
        (Kind::Stills, true),
        (Kind::Shared, true),
        (Kind::Seen, false),
    ] {
        let said = Said {
            kind,
            yes,
            from: TODAY,
            until: None,
            recorder: name(canary),
        };
        portfolio
            .record(&[child, other], &said, at(TODAY))
            .expect("recorded");
    }
    portfolio
        .balance_groups(class, 2, at(TODAY))
        .expect("groups");
    keep_a_note(&portfolio, child, canary);
    // While everything is open, something breaks.
    let held = std::panic::catch_unwind(|| {
        let roster = portfolio.roster(at(TODAY)).expect("a roster");
        let nowhere = afterturn_core::kernel::ClassId::from_kept(1);
        roster
            .class(nowhere)
            .map(|class| class.id)
            .expect("a slip of ours");
    });
    assert!(held.is_err());
    let backup = portfolio.backup(at(TODAY)).expect("a backup");
    atomic::write(&folder.join("backup.vault"), &backup).expect("written");
    portfolio.erase_child(other, at(TODAY)).expect("erased");
    portfolio
        .restore(&backup, WORDS, WORDS, at(TODAY))
        .expect("restored");
    // The plug is pulled: nothing is closed.
    std::mem::forget(portfolio);
    let morning = open(TODAY.plus(1));
    assert!(
        matches!(
            morning.unlock("another one", at(TODAY.plus(1))),
            Err(VaultError::Wrong)
        ),
        "a wrong passphrase opens nothing"
    );
    morning.unlock(WORDS, at(TODAY.plus(1))).expect("opened");
    let there = morning.roster(at(TODAY.plus(1))).expect("a roster");
    assert!(there.child(child).is_ok() && there.child(other).is_err());
    morning.purge(TODAY.plus(2)).expect("purged");
    std::mem::forget(morning);
}

fn keep_a_note(portfolio: &Portfolio, child: afterturn_core::kernel::ChildId, canary: &str) {
    let roster = portfolio.roster(at(TODAY)).expect("a roster");
    let taken = at(TODAY).now;
    let request = Request {
        children: vec![child],
        medium: Medium::Still,
        purpose: Purpose::Family,
        interval: Interval {
            from: taken,
            to: taken,
            offset_s: 0,
        },
        term_days: 30,
    };
    let permit = roster.register.permit(request, TODAY).expect("a permit");
    portfolio
        .keep(permit, About::default(), canary.as_bytes(), at(TODAY))
        .expect("kept");
}

/// Every file on this file system that bears the name, or has changed since
/// `mark` and holds it, in either way a program may write letters.
fn files_with(canary: &str, mark: &Path) -> Vec<String> {
    // Other programs write beside us; nothing of ours is as large as this.
    let holds = r#"find / -xdev \( -path /proc -o -path /sys \) -prune -o -type f -newer "$1" -size -64M -print0 2>/dev/null |
        LC_ALL=C xargs -0 -r grep -laP -e "$2" 2>/dev/null; true"#;
    let bears = r#"find / -xdev \( -path /proc -o -path /sys \) -prune -o -name "*$2*" -print 2>/dev/null; true"#;
    let wide = canary.chars().map(String::from).collect::<Vec<_>>();
    let wide = format!("{}\\x00", wide.join("\\x00"));
    let either = format!("{canary}|{wide}");
    let found = |script: &str, what: &str| {
        let out = Command::new("bash")
            .args(["-c", script, "bash"])
            .arg(mark)
            .arg(what)
            .output()
            .expect("find and grep");
        String::from_utf8_lossy(&out.stdout).into_owned()
    };
    let all = found(holds, &either) + &found(bears, canary);
    all.lines().map(ToOwned::to_owned).collect()
}

#[test]
fn after_a_day_and_a_night_no_file_anywhere_holds_a_childs_name() {
    let marked = tempfile::tempdir().expect("a folder");
    let mark = marked.path().join("since");
    // File systems count time in coarse steps.
    let before = SystemTime::now() - Duration::from_secs(2);
    let marking = File::create(&mark).expect("made");
    marking.set_modified(before).expect("marked");
    let said = Arc::new(Mutex::new(String::new()));
    let heard = Arc::clone(&said);
    std::panic::set_hook(Box::new(move |panic| {
        eprintln!("{panic}");
        heard.lock().expect("heard").push_str(&panic.to_string());
    }));
    let canary = canary();
    // The search finds what it should, letters of either width.
    let wide: Vec<u8> = canary.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let planted = [("narrow", canary.as_bytes()), ("wide", &wide)].map(|(called, bytes)| {
        let file = marked.path().join(called);
        std::fs::write(&file, bytes).expect("written");
        file
    });
    let mut found = files_with(&canary, &mark);
    found.sort_unstable();
    assert_eq!(
        found,
        planted.clone().map(|file| file.display().to_string())
    );
    for file in planted {
        std::fs::remove_file(file).expect("removed");
    }
    let folder = tempfile::tempdir().expect("a folder");
    day_and_night(folder.path(), &canary);
    let written = std::fs::read_dir(folder.path()).expect("a folder").count();
    assert!(written >= 3, "the vault, what was erased, a backup");
    assert_eq!(files_with(&canary, &mark), Vec::<String>::new());
    let said = said.lock().expect("heard").clone();
    assert!(said.contains("a slip of ours"), "it did break: {said}");
    assert!(!said.contains(&canary), "a panic says a name");
}
