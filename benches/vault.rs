//! What the vault costs a teacher: a school of 600 children and five years of
//! answers.
//!
//! `cargo bench --bench vault`. Not here: any judgement; a slow machine is no
//! failure. What was asked for: a list of all within 2 s, any page within
//! 150 ms.

use std::{hint::black_box, sync::Arc, time::Duration};

use afterturn::{
    door::{Arrival, Grant, Kept, Listener, Pass, SessionId},
    http::{App, Entrance, ThisMachine, Vault, routes},
    lesson::{Lesson, LessonSettings, UnitInUse},
    portfolio::{Cost, Moment, Portfolio, Said, import},
};
use afterturn_core::{
    consent::{Kind, ViewRule},
    kernel::{CaptureUs, Day, Name},
    rotation::Readings,
    wire::InBoth,
};
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";
const CHILDREN: usize = 600;
const CLASSES: usize = 24;
const YEARS: i32 = 5;

fn moment() -> Moment {
    Moment {
        today: TODAY,
        now: CaptureUs(TODAY.0 as u64 * 86_400_000_000),
    }
}

fn list() -> import::List {
    let rows: Vec<String> = (0..CHILDREN)
        .map(|n| {
            format!(
                "Class {},Given {n},Family {n},{n},{}",
                n % CLASSES,
                n % 6 + 1
            )
        })
        .collect();
    let rows = rows.join(
        "
",
    );
    let file = import::File {
        name: String::new(),
        bytes: format!("class,first name,last name,number,group\n{rows}").into(),
    };
    import::read(vec![file], "", TODAY).expect("a good list")
}

fn empty() -> (tempfile::TempDir, Portfolio) {
    let folder = tempfile::tempdir().expect("a folder");
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, moment()).expect("open");
    (folder, portfolio)
}

fn take(portfolio: &Portfolio) {
    let token = portfolio.plan(list(), moment()).expect("planned");
    portfolio.take(token, moment()).expect("taken");
}

/// All children, asked everything every year.
fn school() -> (tempfile::TempDir, Portfolio) {
    let (folder, portfolio) = empty();
    take(&portfolio);
    portfolio
        .choose_rule(ViewRule::OptIn, moment())
        .expect("chosen");
    let roster = portfolio.roster(moment()).expect("a roster");
    let children: Vec<_> = roster.children.iter().map(|child| child.id).collect();
    for year in 0..YEARS {
        for kind in Kind::ALL {
            let said = Said {
                kind,
                yes: true,
                from: TODAY.plus((year - YEARS) * 365),
                until: Some(TODAY.plus((year + 1 - YEARS) * 365 + 30)),
                recorder: Name::new("Ms Hall").expect("a name"),
            };
            portfolio
                .record(&children, &said, moment())
                .expect("recorded");
        }
    }
    (folder, portfolio)
}

fn lists(c: &mut Criterion) {
    c.bench_function("read and take a list of 600 children", |b| {
        b.iter_batched(
            empty,
            |(_folder, vault)| take(&vault),
            BatchSize::PerIteration,
        );
    });
}

fn pages(c: &mut Criterion) {
    let (_folder, portfolio) = school();
    let roster = portfolio.roster(moment()).expect("a roster");
    let paths = [
        "/roster".to_owned(),
        format!("/roster/classes/{}", roster.classes[0].id),
        format!("/roster/children/{}", roster.children[0].id),
        "/roster/letter".to_owned(),
        "/roster/vault".to_owned(),
    ];
    let child = roster.children[0].id;
    let vault = Vault::new(portfolio, Arc::new(|| TODAY));
    let portfolio = Arc::clone(&vault.portfolio);
    let (_stop, stopped) = tokio::sync::watch::channel(false);
    let now = Arc::new(|| moment().now);
    let entrance = Entrance::new(Kept::default(), ThisMachine::SignsIn, now);
    let lesson = Lesson::open(LessonSettings {
        stations: Vec::new(),
        setups: Arc::new(|_, _| Vec::new()),
        in_words: Arc::new(|line| InBoth {
            en: line.to_owned(),
            es: line.to_owned(),
        }),
        unit: UnitInUse::default(),
        clocks: Arc::new(Readings::default),
        state_dir: None,
        heard_of: None,
        demo: false,
        list: None,
    });
    let app = App::new(Vec::new(), lesson, entrance, false, stopped).with_vault(vault);
    let routes = routes(&app);
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    for (path, called) in paths
        .iter()
        .zip(["roster", "class", "child", "letter", "vault"])
    {
        c.bench_function(&format!("page: {called}, 600 children, 5 years"), |b| {
            b.iter(|| {
                let asked = warp::test::request().path(path);
                let asked = asked
                    .extension(Arrival {
                        listener: Listener::Here,
                        peer: [127, 0, 0, 1].into(),
                        reached: ([127, 0, 0, 1], 8460).into(),
                        name: None,
                    })
                    .extension(Pass {
                        session: Some(SessionId(1)),
                        grant: Grant::Teacher,
                    });
                let reply = runtime.block_on(asked.reply(&routes));
                assert_eq!(reply.status(), 200);
                black_box(reply.body().len())
            });
        });
    }
    c.bench_function("record an answer, 600 children, 5 years", |b| {
        b.iter(|| {
            let said = Said {
                kind: Kind::Seen,
                yes: true,
                from: TODAY,
                until: None,
                recorder: Name::new("Ms Hall").expect("a name"),
            };
            portfolio
                .record(&[child], &said, moment())
                .expect("recorded");
        });
    });
}

fn backup(c: &mut Criterion) {
    let (_folder, portfolio) = school();
    c.bench_function("backup, 600 children, 5 years", |b| {
        b.iter(|| black_box(portfolio.backup(moment()).expect("a backup").len()));
    });
}

criterion_group! {
    name = vault;
    config = Criterion::default().sample_size(10).measurement_time(Duration::from_secs(5));
    targets = lists, pages, backup
}
criterion_main!(vault);
