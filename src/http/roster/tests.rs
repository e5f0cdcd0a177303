//! The pages over the router itself: what a teacher sees and does, and what no
//! address, refusal or log may hold.

use std::sync::Arc;

use afterturn_core::kernel::{CaptureUs, Day};
use tokio::sync::watch;
use warp::{hyper::body::Bytes, test::request};

use super::*;
use crate::door::{Arrival, Grant, Kept, Listener, Pass, SessionId, hash};
use crate::http::tests::class::lesson;
use crate::http::{Entrance, ThisMachine, routes};
use crate::portfolio::Cost;

mod keeping;
mod limits;
mod starting;

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";

struct Box_ {
    routes: warp::filters::BoxedFilter<(warp::reply::Response,)>,
    vault: Vault,
}

/// A box with a vault in memory, open.
fn a_box() -> Box_ {
    let now = CaptureUs(1_790_000_000_000_000);
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    let vault = Vault::new(portfolio, Arc::new(|| TODAY));
    vault.portfolio.unlock(WORDS, vault.moment(now)).unwrap();
    let (_, stop) = watch::channel(false);
    let entrance = Entrance::new(Kept::default(), ThisMachine::SignsIn, Arc::new(move || now));
    entrance.with(|door, _| door.set_passphrase(hash(WORDS)));
    let app = App::new(Vec::new(), lesson(&[]), entrance, false, stop).with_vault(vault.clone());
    Box_ {
        routes: routes(&app),
        vault,
    }
}

struct Answer {
    status: u16,
    text: String,
    to: String,
}

impl Box_ {
    async fn ask(&self, method: &str, path: &str, body: &str) -> Answer {
        self.ask_as(Grant::Teacher, method, path, body).await
    }

    async fn ask_as(&self, grant: Grant, method: &str, path: &str, body: &str) -> Answer {
        let asked = request().method(method).path(path);
        let asked = asked
            .extension(Arrival {
                listener: Listener::Here,
                peer: [127, 0, 0, 1].into(),
                reached: ([127, 0, 0, 1], 8460).into(),
                name: None,
            })
            .extension(Pass {
                session: Some(SessionId(7)),
                grant,
            })
            .header("accept", "text/html")
            .header("content-type", "application/x-www-form-urlencoded")
            .body(body);
        let reply: warp::http::Response<Bytes> = asked.reply(&self.routes).await;
        let to = reply.headers().get("location");
        Answer {
            status: reply.status().as_u16(),
            to: to.map_or("", |to| to.to_str().unwrap()).to_owned(),
            text: String::from_utf8_lossy(reply.body()).into_owned(),
        }
    }

    async fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, "").await
    }

    /// Posts fields; whatever comes back names nobody outside a page.
    async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut body = form_urlencoded::Serializer::new(String::new());
        body.extend_pairs(fields);
        let answer = self.ask("POST", path, &body.finish()).await;
        assert!(!answer.to.contains("Zyxwanda"), "{}", answer.to);
        answer
    }

    /// A class with one child; their pages.
    async fn with_zyxwanda(&self) -> (String, String) {
        let done = self
            .post("/roster", &[("do", "add-class"), ("title", "2 Blue")])
            .await;
        assert_eq!(
            (done.status, done.to.as_str()),
            (303, "/roster?done=add-class#add-class")
        );
        self.post("/roster", &[("do", "choose"), ("rule", "opt-in")])
            .await;
        let class = self.link("/roster", "/roster/classes/").await;
        let child = [
            ("do", "add-child"),
            ("given", "Zyxwanda"),
            ("family", "O'Hara <b>"),
        ];
        assert_eq!(self.post(&class, &child).await.status, 303);
        let child = self.link(&class, "/roster/children/").await;
        (class, child)
    }

    /// The first link on a page that begins so.
    async fn link(&self, page: &str, begins: &str) -> String {
        let text = self.get(page).await.text;
        let at = text.find(&format!("\"{begins}")).expect("a link") + 1;
        text[at..].split('"').next().unwrap().to_owned()
    }
}

#[tokio::test]
async fn the_school_chooses_before_anything_else() {
    let gym = a_box();
    let page = gym.get("/roster").await;
    assert!(page.text.contains("value=\"opt-in\">") && !page.text.contains("checked"));
    assert!(!page.text.contains("/roster/import\""), "one thing first");
    let none = gym.post("/roster", &[("do", "choose")]).await;
    assert_eq!(none.status, 422);
    assert!(none.text.contains("id=\"choose.rule.error\""));
    let done = gym
        .post("/roster", &[("do", "choose"), ("rule", "opt-out")])
        .await;
    assert_eq!(done.status, 303);
    assert!(gym.get("/roster").await.text.contains("/roster/import\""));
}

#[tokio::test]
async fn a_form_says_what_is_wrong_at_its_field_and_keeps_what_was_typed() {
    let gym = a_box();
    let (class, child) = gym.with_zyxwanda().await;
    let wrong = gym
        .post(
            &class,
            &[
                ("do", "add-child"),
                ("given", " "),
                ("family", "Stone"),
                ("group", "x"),
            ],
        )
        .await;
    assert_eq!(wrong.status, 422);
    for id in ["add-child.given.error", "add-child.group.error"] {
        assert!(wrong.text.contains(&format!("id=\"{id}\"")), "{id}");
    }
    assert!(wrong.text.contains("value=\"Stone\"") && wrong.text.contains("value=\"x\""));
    // A second form with fields of the same names is not touched by it.
    assert!(!wrong.text.contains("id=\"rename.title.error"));
    let form = [
        ("do", "record"),
        ("kind", "stills"),
        ("answer", "yes"),
        ("from", "2026-11-25"),
        ("until", "2026-11-01"),
        ("recorder", ""),
    ];
    let wrong = gym.post(&child, &form).await;
    assert_eq!(wrong.status, 422);
    for id in ["record.until.error", "record.recorder.error"] {
        assert!(wrong.text.contains(&format!("id=\"{id}\"")), "{id}");
    }
    assert!(wrong.text.contains("value=\"2026-11-01\""));
    assert!(wrong.text.contains("value=\"stills\" selected"));
    let not_sure = gym.post(&child, &[("do", "erase")]).await;
    assert_eq!(not_sure.status, 422);
}

#[tokio::test]
async fn an_answer_is_recorded_and_shows_where_it_counts() {
    let gym = a_box();
    let (class, child) = gym.with_zyxwanda().await;
    assert!(gym.get(&class).await.text.contains("group covered"));
    let day = TODAY.to_string();
    let form = [
        ("do", "record"),
        ("kind", "seen"),
        ("answer", "yes"),
        ("from", day.as_str()),
        ("until", ""),
        ("recorder", "Ms Hall"),
    ];
    let done = gym.post(&child, &form).await;
    assert_eq!(done.to, format!("{child}?done=record#record"));
    assert!(!gym.get(&class).await.text.contains("group covered"));
    let page = gym.get(&done.to.replace("#record", "")).await.text;
    assert!(page.contains("Recorded. It holds from now on.") && page.contains("Ms Hall"));
    assert!(
        page.contains("O&#39;Hara &#60;b&#62;"),
        "a name became markup"
    );
}

#[tokio::test]
async fn a_locked_vault_asks_for_the_passphrase_and_loses_nothing_typed() {
    let gym = a_box();
    let (class, _) = gym.with_zyxwanda().await;
    gym.vault.portfolio.lock();
    let page = gym.get(&class).await;
    assert!(page.text.contains("passphrase-now") && !page.text.contains("Zyxwanda"));
    let held = gym
        .post(&class, &[("do", "add-child"), ("given", "Ida")])
        .await;
    assert!(held.text.contains("name=\"carried.given\" value=\"Ida\""));
    let carried = [
        ("do", "unlock"),
        ("carried.do", "add-child"),
        ("carried.given", "Ida"),
        ("code", ""),
    ];
    let wrong: Vec<_> = carried
        .into_iter()
        .chain([("passphrase-now", "no")])
        .collect();
    let wrong = gym.post(&class, &wrong).await;
    assert_eq!(wrong.status, 422);
    assert!(wrong.text.contains("name=\"carried.given\" value=\"Ida\""));
    assert!(wrong.text.contains("unlock.passphrase-now.error"));
    let right: Vec<_> = carried
        .into_iter()
        .chain([("passphrase-now", WORDS)])
        .collect();
    let right = gym.post(&class, &right).await;
    assert_eq!(right.to, format!("{class}?done=add-child#add-child"));
    assert!(gym.get(&class).await.text.contains("Ida"));
}

#[tokio::test]
async fn with_another_passphrase_the_recovery_sheet_opens_it() {
    let gym = a_box();
    let (class, _) = gym.with_zyxwanda().await;
    let moment = gym.vault.moment(CaptureUs(1_790_000_000_000_000));
    gym.vault
        .portfolio
        .set_recovery("AAAAACCCCC", moment)
        .unwrap();
    // The vault was made with another one than the door now takes.
    gym.vault
        .portfolio
        .prepare_passphrase("box, rope and bench", moment)
        .unwrap();
    gym.vault
        .portfolio
        .unlock("box, rope and bench", moment)
        .unwrap();
    gym.vault.portfolio.lock();
    let open = |code: &'static str| [("do", "unlock"), ("passphrase-now", WORDS), ("code", code)];
    let other = gym.post(&class, &open("")).await;
    assert!(
        other.text.contains("unlock.code.error"),
        "it asks for the sheet"
    );
    let wrong = gym.post(&class, &open("AAAAA AAAAA")).await;
    assert_eq!(wrong.status, 422);
    assert_eq!(gym.post(&class, &open("aaaaa-ccccc")).await.status, 303);
    gym.vault.portfolio.lock();
    assert_eq!(
        gym.post(&class, &open("")).await.status,
        303,
        "from now on without it"
    );
}

#[tokio::test]
async fn a_list_is_looked_at_before_it_is_taken() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let bad = "class,first name\n2 Blue,\n,Zyxwanda\n";
    let wrong = gym
        .post("/roster/import", &[("do", "read"), ("list", bad)])
        .await;
    assert_eq!(wrong.status, 422);
    assert!(
        wrong
            .text
            .contains("line 2, column 2 (First name): this has to be filled in.")
    );
    assert!(
        wrong.text.contains("2 Blue,\n,Zyxwanda"),
        "the pasted table is still there"
    );
    let good = "class,first name\n2 Blue,Ada\n3 Red,Bo\n";
    let page = gym
        .post("/roster/import", &[("do", "read"), ("list", good)])
        .await;
    assert_eq!(page.status, 200);
    assert!(page.text.contains("Nothing has changed yet."));
    let token = page.text.split("name=\"token\" value=\"").nth(1).unwrap();
    let token = token.split('"').next().unwrap();
    let done = gym
        .post("/roster/import", &[("do", "take"), ("token", token)])
        .await;
    assert_eq!(done.to, "/roster?done=take#take");
    assert!(gym.get("/roster").await.text.contains("3 Red"));
    let again = gym
        .post("/roster/import", &[("do", "take"), ("token", token)])
        .await;
    assert_eq!(again.status, 422);
}

#[tokio::test]
async fn a_passphrase_is_changed_with_the_old_one_and_then_opens_both() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let new = "box, rope and bench";
    let change = |now: &'static str, again: &'static str| {
        [
            ("do", "passphrase"),
            ("passphrase-now", now),
            ("passphrase-new", new),
            ("passphrase-again", again),
        ]
    };
    assert_eq!(
        gym.post("/roster/vault", &change("not it", new))
            .await
            .status,
        422
    );
    let wrong = gym.post("/roster/vault", &change(WORDS, "another")).await;
    assert!(
        wrong.status == 422 && !wrong.text.contains(new),
        "a secret is not shown again"
    );
    assert_eq!(
        gym.post("/roster/vault", &change(WORDS, new)).await.to,
        "/sign-in"
    );
    gym.vault.portfolio.lock();
    let signed_in = gym.post("/sign-in", &[("passphrase", new)]).await;
    assert_eq!(signed_in.to, "/remote");
    assert!(
        gym.get("/roster").await.text.contains("2 Blue"),
        "one passphrase opens both"
    );
}

#[tokio::test]
async fn refusals_name_nobody() {
    let gym = a_box();
    let (_, child) = gym.with_zyxwanda().await;
    let sure = [("do", "erase"), ("sure", "yes")];
    assert_eq!(gym.post(&child, &sure).await.status, 303);
    let gone = gym.get(&child).await;
    assert_eq!(gone.status, 404);
    assert!(!gone.text.contains("Zyxwanda"));
    for path in [
        "/roster/classes/x",
        "/roster/children/Zyxwanda",
        "/roster/nothing",
    ] {
        let answer = gym.get(path).await;
        assert_eq!(answer.status, 404, "{path}");
        assert!(!answer.text.contains("Zyxwanda"), "{path}");
    }
}

#[tokio::test]
async fn letters_say_it_in_both_languages_and_the_sheet_is_shown_once() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let letter = gym.get("/roster/letter").await.text;
    assert!(letter.contains("lang=\"en\"") && letter.contains("lang=\"es\""));
    assert!(letter.contains("after 60 days") && letter.contains("a los 60 días"));
    let form = [("do", "sheet"), ("passphrase-now", WORDS)];
    let sheet = gym.post("/roster/vault", &form).await.text;
    assert!(sheet.contains("id=\"code\""));
    assert!(!gym.get("/roster/vault").await.text.contains("id=\"code\""));
}

#[tokio::test]
async fn a_box_without_a_vault_says_so() {
    let now: crate::av::camera::NowFn = Arc::new(|| CaptureUs(1_790_000_000_000_000));
    let (_, stop) = watch::channel(false);
    let entrance = Entrance::new(Kept::default(), ThisMachine::SignsIn, now);
    let app = App::new(Vec::new(), lesson(&[]), entrance, true, stop);
    let vault = a_box().vault;
    let gym = Box_ {
        routes: routes(&app),
        vault,
    };
    assert!(
        gym.get("/roster")
            .await
            .text
            .contains("Nothing can be kept here.")
    );
}
