use super::*;

/// The start of a WAVE file.
const WAVE: &[u8] = b"RIFF\x24\0\0\0WAVEfmt ";

fn folder(files: &[(&str, &[u8])]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

fn open(folder: &tempfile::TempDir) -> Arc<Sound> {
    Sound::open(Some(folder.path().to_owned()), Kept::default())
}

fn hall(session: u64) -> Who {
    Who {
        session: Some(SessionId(session)),
        place: SoundPlace::Hall,
    }
}

fn standing(sound: &Sound) -> SoundStanding {
    sound.info(|_| false).standing
}

fn ready(plays: bool) -> Said {
    Said {
        ready: true,
        plays,
        failed: Vec::new(),
    }
}

#[test]
fn the_files_are_those_a_browser_may_play_in_the_order_of_their_names() {
    let folder = folder(&[
        ("b walk.MP3", b"ID3\x04\0\0"),
        ("a jump.wav", WAVE),
        ("broken.ogg", b"no music"),
        ("empty.mp3", b""),
        ("notes.txt", WAVE),
        (".hidden.wav", WAVE),
    ]);
    std::fs::create_dir(folder.path().join("album.mp3")).unwrap();
    let sound = open(&folder);
    let info = sound.info(|_| false);
    assert_eq!((info.mode, info.tracks), (SoundMode::Files, 2));
    assert_eq!(info.broken, ["broken.ogg", "empty.mp3"]);
    let kinds = [0, 1].map(|at| sound.track(1, at).unwrap().kind);
    assert_eq!(kinds, [Kind::Wave, Kind::Mp3]);
    assert!(sound.track(1, 2).is_none(), "and no more");
}

#[test]
fn a_list_that_is_over_names_nothing() {
    let folder = folder(&[("a.wav", WAVE)]);
    let sound = open(&folder);
    sound.look();
    assert!(sound.track(1, 0).is_some(), "nothing has changed");
    std::fs::write(folder.path().join("0.wav"), WAVE).unwrap();
    sound.look();
    // "a" is the second now: whoever asks for the first of before gets neither.
    assert!(sound.track(1, 0).is_none());
    assert!(sound.track(2, 0).is_some());
}

#[test]
fn without_a_file_there_is_the_rhythm() {
    let none = Sound::open(None, Kept::default());
    let info = none.info(|_| false);
    assert_eq!((info.mode, info.folder), (SoundMode::Rhythm, false));
    let gone = Sound::open(Some("/nowhere/at/all".into()), Kept::default());
    assert_eq!(gone.info(|_| false).mode, SoundMode::Rhythm);
    let broken = open(&folder(&[("a.mp3", b"no music")]));
    assert_eq!(broken.info(|_| false).mode, SoundMode::Rhythm);
}

#[test]
fn one_page_is_the_speaker_and_whether_it_sounds_is_said() {
    let sound = Sound::open(None, Kept::default());
    assert_eq!(standing(&sound), SoundStanding::Nobody);
    let (board, other) = (sound.join(hall(1)), sound.join(hall(2)));
    assert!(!board.state(false).speaks);
    board.speak();
    assert!(board.state(false).speaks && !other.state(false).speaks);
    assert_eq!(standing(&sound), SoundStanding::Waits);
    board.heard(ready(false));
    assert_eq!(standing(&sound), SoundStanding::Ready);
    board.heard(ready(true));
    assert_eq!(standing(&sound), SoundStanding::Plays);
    assert_eq!(sound.info(|_| true).standing, SoundStanding::Quiet);
    // From the remote, another.
    let second = sound.info(|_| false).pages[1];
    let patch = SoundPatch {
        speaker: Some(second.id),
        ..SoundPatch::default()
    };
    assert_eq!(sound.choose(patch), Ok(()));
    assert!(other.state(false).speaks && !board.state(false).speaks);
    drop(other);
    assert_eq!(standing(&sound), SoundStanding::Away);
    assert_eq!(sound.choose(patch), Err(NoPage), "it is not open");
    let nobody = SoundPatch {
        speaker: Some(0),
        ..SoundPatch::default()
    };
    assert_eq!(sound.choose(nobody), Ok(()));
    assert_eq!(standing(&sound), SoundStanding::Nobody);
}

#[test]
fn what_was_chosen_is_known_after_a_restart() {
    let sound = Sound::open(None, Kept::default());
    assert_eq!(sound.take_unkept(), None);
    let board = sound.join(hall(4));
    board.speak();
    let own = SoundPatch {
        mode: Some(SoundMode::Own),
        ..SoundPatch::default()
    };
    sound.choose(own).unwrap();
    let kept = sound.take_unkept().expect("something new");
    assert_eq!(sound.take_unkept(), None);
    let written = serde_json::to_string(&kept).unwrap();
    let sound = Sound::open(None, serde_json::from_str(&written).unwrap());
    assert_eq!(sound.info(|_| false).mode, SoundMode::Own);
    let stranger = sound.join(hall(5));
    assert!(!stranger.state(false).speaks);
    let board = sound.join(hall(4));
    assert!(board.state(false).speaks);
    // The same page opened twice is one speaker.
    let twice = sound.join(hall(4));
    assert!(twice.state(false).speaks && !board.state(false).speaks);
    drop(twice);
    assert!(board.state(false).speaks);
}

#[test]
fn what_the_speaker_cannot_play_is_said_by_name() {
    let folder = folder(&[("a.wav", WAVE), ("b.wav", WAVE)]);
    let sound = open(&folder);
    let (board, other) = (sound.join(hall(1)), sound.join(hall(2)));
    board.speak();
    let failed = |at: u16| Said {
        failed: vec![at],
        ..ready(true)
    };
    other.heard(failed(0));
    assert!(sound.info(|_| false).broken.is_empty(), "it plays nothing");
    board.heard(failed(1));
    let info = sound.info(|_| false);
    assert_eq!((info.tracks, info.broken), (1, vec!["b.wav".to_owned()]));
    board.heard(failed(9));
    assert!(
        sound.info(|_| false).broken.is_empty(),
        "there is no tenth file"
    );
}

#[test]
fn the_files_are_for_the_session_that_is_the_speaker() {
    let sound = Sound::open(None, Kept::default());
    assert!(!sound.is_speaker(None), "no page is no speaker");
    let board = sound.join(hall(1));
    board.speak();
    assert!(sound.is_speaker(Some(SessionId(1))));
    assert!(!sound.is_speaker(Some(SessionId(2))) && !sound.is_speaker(None));
    drop(board);
    assert!(!sound.is_speaker(Some(SessionId(1))), "it is not open");
}

#[test]
fn a_tone_is_counted_once_each_time() {
    let sound = Sound::open(None, Kept::default());
    let page = sound.join(hall(1));
    let before = page.state(false).tones;
    sound.tone();
    assert_eq!(page.state(false).tones, before + 1);
    assert!(page.state(true).quiet);
}
