//! Keys at the top of the file that stand by themselves.

use super::*;

#[test]
fn a_folder_of_music_is_a_whole_path_and_there_is_none_unless_it_is_named() {
    let named = |folder: &str| {
        GOOD.replace(
            "[[station]]\nnumber = 1",
            &format!("music_dir = '{folder}'\n[[station]]\nnumber = 1"),
        )
    };
    let music = |text: &str| read(text).expect("it is good").0.music_dir;
    assert_eq!(music(GOOD), None);
    assert_eq!(music(&named("/srv/music")), Some("/srv/music".into()));
    let (found, _) = mistakes(&named("music"));
    assert_eq!((found.len(), found[0].0), (1, 3));
    assert!(found[0].1.contains("begin it with /"), "{found:?}");
}

#[test]
fn a_clicker_moves_the_class_only_where_the_file_says_so() {
    let [first, second] = [1, 2].map(|n| StationNumber::try_from(n).expect("a good number"));
    let read = |top: &str, own: &str| {
        let text = format!("{top}\n{GOOD}[station.screen]\n{own}");
        let clickers = read(&text).expect("it is good").0.clickers();
        [None, Some(first), Some(second)].map(|at| clickers.at(at))
    };
    assert_eq!(read("", ""), [Clicker::Again; 3]);
    assert_eq!(read("clicker = 'class'", ""), [Clicker::Class; 3]);
    let (off, class) = (Clicker::Off, Clicker::Class);
    assert_eq!(
        read("clicker = 'off'", "clicker = 'class'"),
        [off, off, class]
    );
    assert!(!Clicker::Again.moves_class() && !off.asks_again() && class.asks_again());
    let (found, page) = mistakes(&format!("clicker = 'next'\n{GOOD}"));
    assert_eq!((found.len(), found[0].0), (1, 1), "{page}");
    assert!(
        page.contains("write \"off\", \"again\" or \"class\""),
        "{page}"
    );
}
