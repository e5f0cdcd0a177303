//! What a signed-in phone alone does not get, and how much of a list is taken.

use super::*;
use crate::door::Guesser;

#[tokio::test]
async fn a_backup_and_a_recovery_sheet_ask_for_the_passphrase_again() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let ask = |what: &'static str, typed: &'static str| [("do", what), ("passphrase-now", typed)];
    for what in ["backup", "sheet"] {
        for typed in ["", "not the passphrase"] {
            let refused = gym.post("/roster/vault", &ask(what, typed)).await;
            assert_eq!(refused.status, 422, "{what} with {typed:?}");
            let error = format!("id=\"{what}.passphrase-now.error\"");
            assert!(refused.text.contains(&error), "{what} with {typed:?}");
            assert!(
                !refused.text.contains("AFTERTURN VAULT") && !refused.text.contains("id=\"code\"")
            );
        }
    }
    let moment = gym.vault.moment(CaptureUs(1_790_000_000_000_000));
    let outside = |gym: &Box_| gym.vault.portfolio.has_recovery().unwrap();
    assert!(!outside(&gym), "no sheet was made");
    let backup = gym.post("/roster/vault", &ask("backup", WORDS)).await;
    assert!(backup.status == 200 && backup.text.starts_with("AFTERTURN VAULT"));
    assert!(
        gym.post("/roster/vault", &ask("sheet", WORDS))
            .await
            .text
            .contains("id=\"code\"")
    );
    assert!(outside(&gym) && gym.vault.portfolio.state(moment.now) == State::Open);
}

#[tokio::test]
async fn a_wrong_passphrase_for_a_backup_counts_like_a_guess() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let form = [("do", "backup"), ("passphrase-now", "not the passphrase")];
    let wait = Language::English.words().get("roster-fault-wait");
    let mut has_to_wait = false;
    for _ in 0..60 {
        let refused = gym.post("/roster/vault", &form).await;
        assert_eq!(refused.status, 422);
        has_to_wait = refused.text.contains(wait);
        if has_to_wait {
            break;
        }
    }
    assert!(has_to_wait, "whoever guesses is made to wait");
    let right = [("do", "backup"), ("passphrase-now", WORDS)];
    assert_eq!(gym.post("/roster/vault", &right).await.status, 422);
}

#[tokio::test]
async fn what_is_no_form_of_ours_is_refused_before_it_is_held() {
    let gym = a_box();
    let many = "a&".repeat(2000);
    assert_eq!(gym.ask("POST", "/roster/import", &many).await.status, 413);
    let commas = ",".repeat(1024 * 1024 + 1);
    let long = gym
        .post(
            "/roster/import",
            &[("do", "read"), ("list", commas.as_str())],
        )
        .await;
    assert_eq!(long.status, 413);
    assert!(!long.text.contains(",,,,"), "it does not come back");
}

#[tokio::test]
async fn one_list_is_read_at_a_time_and_the_second_is_told_so() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let form = [("do", "read"), ("list", "class,first name\n2 Blue,Ada\n")];
    let first = gym.vault.importing.lock().await;
    let second = gym.post("/roster/import", &form).await;
    assert_eq!(second.status, 503);
    assert!(second.text.contains("Another list is being read."));
    assert!(
        second.text.contains("2 Blue,Ada"),
        "what was pasted is still there"
    );
    drop(first);
    assert_eq!(gym.post("/roster/import", &form).await.status, 200);
}

#[tokio::test]
async fn a_list_beyond_a_limit_is_refused_with_the_limit_and_what_to_do() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let commas = ",".repeat(100_000);
    let form = [("do", "read"), ("list", commas.as_str())];
    let refused = gym.post("/roster/import", &form).await;
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("there are more than 200 columns."));
    let form = [("do", "read"), ("list", "class,first name\n,\n,\n")];
    let nobody = gym.post("/roster/import", &form).await;
    assert_eq!(nobody.status, 422);
    assert!(nobody.text.contains("there is nobody in it."));
}

#[tokio::test]
async fn a_cheaper_hash_is_made_anew_at_the_next_right_sign_in() {
    use argon2::{Algorithm, Argon2, Params, PasswordHasher as _, Version};
    let now = CaptureUs(1_790_000_000_000_000);
    let entrance = Entrance::new(Kept::default(), ThisMachine::SignsIn, Arc::new(move || now));
    let params = Params::new(8, 1, 1, None).unwrap();
    let cheaper = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    let cheaper = cheaper.hash_password(WORDS.as_bytes()).unwrap();
    let cheaper: crate::door::Hash =
        serde_json::from_value(cheaper.to_string().into()).expect("a text");
    entrance.with(|door, _| door.set_passphrase(cheaper.clone()));
    let kept = |entrance: &Entrance| {
        let who = Guesser::of([127, 0, 0, 2].into(), None);
        let kept = entrance.with(|door, now| door.guess(What::Passphrase, who, now));
        kept.ok().flatten().expect("a hash")
    };
    let who = Guesser::of([127, 0, 0, 1].into(), None);
    let sign_in = async |typed: &str| {
        entrance
            .sign_in(What::Passphrase, typed.to_owned(), who)
            .await
            .is_ok()
    };
    assert!(!sign_in("not the passphrase").await);
    assert_eq!(kept(&entrance), cheaper, "a wrong guess changes nothing");
    assert!(sign_in(WORDS).await);
    let renewed = kept(&entrance);
    assert!(cheaper.is_outdated() && !renewed.is_outdated());
    assert!(sign_in(WORDS).await, "the same words open");
    assert_eq!(kept(&entrance), renewed, "made anew once");
}
