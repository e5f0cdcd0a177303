//! Which words of a sheet have room on a screen, beside the late picture at its
//! smallest and in the smallest letters: what `web/live/fit.js` finds out on the
//! page, reckoned beforehand and on the safe side.
//!
//! Not here: which words those are, and how the page draws them.

use super::{
    ASPECT, BOLD, CAPITAL, FOOT_HEIGHT, FOOT_WIDTH, LEAST_PICTURE, LINE_SPACING, Screen, lines,
    width_of,
};
use crate::plan::Shape;

/// What stands beside a picture in the text view, in the order of the unit.
#[derive(Clone, Debug, Default)]
pub struct Words<'w> {
    /// The one thing to look for; nothing where the station is a board.
    pub cue: Option<&'w str>,
    /// What to do.
    pub task: &'w str,
    /// The choices stand as pictures with their words below.
    pub board: bool,
    /// Levels, then other ways.
    pub choices: Vec<&'w str>,
    /// How many of the choices are other ways.
    pub ways: usize,
    /// Rules of safety and courtesy.
    pub reminders: Vec<&'w str>,
}

/// A part of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// The cue.
    Cue,
    /// The task.
    Task,
    /// A choice, from 0.
    Choice(usize),
    /// A reminder, from 0.
    Reminder(usize),
}

/// Margin, border and padding beside a choice or reminder; margins above what
/// stands in a column; the rule above the choices with what is around it. All as
/// in `web/style/tv.css`, in heights of the page.
const BAR: f64 = 0.045;
const ABOVE: f64 = 0.01;
const RULE: f64 = 0.025;
const BETWEEN_ROWS: f64 = 0.008;
/// The whole strip, without a figure at its side; the least height of what is drawn
/// on a board.
const BOARD_WIDTH: f64 = ASPECT.0 / ASPECT.1 - 0.06;
const LEAST_DRAWN: f64 = 0.18;

/// The parts that have no room.
#[must_use]
pub fn without_room(words: &Words<'_>, mark: Shape, screen: &Screen) -> Vec<Part> {
    let page = Page::of(screen);
    let mut gone = page.side(words, mark);
    gone.extend(if words.board {
        page.board(words)
    } else {
        page.foot(words)
    });
    gone.sort_unstable();
    gone
}

/// A screen's page; all lengths in heights of it.
struct Page {
    /// The smallest capital.
    capital: f64,
    /// The font it belongs to.
    font: f64,
}

impl Page {
    fn of(screen: &Screen) -> Self {
        let capital = screen.letters().least;
        let font = capital / CAPITAL;
        Self { capital, font }
    }

    /// How high words are in a column; nothing where a word is too wide for it.
    fn height(&self, words: &str, width: f64, weight: f64) -> Option<f64> {
        let count = lines(words, width / self.capital / weight)?;
        Some(f64::from(count) * self.font * LINE_SPACING)
    }

    /// Beside the picture: mark, task, reminders.
    fn side(&self, words: &Words<'_>, mark: Shape) -> Vec<Part> {
        let width = ASPECT.0 / ASPECT.1 * (1.0 - LEAST_PICTURE) - 0.05;
        // A numeral needs more of a star than of a disc.
        let numeral = match mark {
            Shape::Star => 2.64,
            Shape::Triangle | Shape::Diamond | Shape::Cross => 2.28,
            _ => 1.95,
        };
        let mut left = LEAST_PICTURE - 0.02 - (numeral * self.font + 0.03);
        let mut gone = Vec::new();
        let mut place = |part, height: Option<f64>| match height {
            Some(height) if height + ABOVE <= left => left -= height + ABOVE,
            _ => gone.push(part),
        };
        place(Part::Task, self.height(words.task, width, BOLD));
        for (at, words) in words.reminders.iter().enumerate() {
            place(Part::Reminder(at), self.height(words, width - 0.02, 1.0));
        }
        gone
    }

    /// Below the picture: cue and choices.
    fn foot(&self, words: &Words<'_>) -> Vec<Part> {
        let cue = words.cue.unwrap_or_default();
        let Some(cue) = self.height(cue, FOOT_WIDTH, BOLD) else {
            return std::iter::once(Part::Cue)
                .chain((0..words.choices.len()).map(Part::Choice))
                .collect();
        };
        let mut gone = Vec::new();
        if cue > FOOT_HEIGHT {
            gone.push(Part::Cue);
        }
        // One is no choice.
        if words.choices.len() < 2 {
            return gone;
        }
        let title = self.font * LINE_SPACING + RULE;
        let room = FOOT_HEIGHT - cue - title;
        let fits = |shown: &[usize]| {
            let shown = (0..words.choices.len()).filter(|at| shown.contains(at));
            let shown: Vec<&str> = shown.map(|at| words.choices[at]).collect();
            self.rows(&shown).is_some_and(|height| height <= room)
        };
        let order = in_turns(words.choices.len(), words.ways);
        let mut shown: Vec<usize> = order[..2].to_vec();
        if !fits(&shown) {
            gone.extend(order.into_iter().map(Part::Choice));
            return gone;
        }
        for at in &order[2..] {
            shown.push(*at);
            if !fits(&shown) {
                shown.pop();
                gone.push(Part::Choice(*at));
            }
        }
        gone
    }

    /// Below the picture, on a board: which words are too long for their place.
    /// The page then leaves out those of all, and keeps the pictures.
    fn board(&self, words: &Words<'_>) -> Vec<Part> {
        let places = words.choices.len().max(1) as f64;
        let width = BOARD_WIDTH / places - 0.025;
        let room = FOOT_HEIGHT - LEAST_DRAWN;
        let fits = |words: &str| {
            let height = self.height(words, width, 1.0);
            height.is_some_and(|height| height <= room)
        };
        let all = words.choices.iter().enumerate();
        let long = all.filter(|(_, words)| !fits(words));
        long.map(|(at, _)| Part::Choice(at)).collect()
    }

    /// How high choices are, as many in a row as there is room for.
    fn rows(&self, choices: &[&str]) -> Option<f64> {
        let line = self.font * LINE_SPACING;
        let (mut height, mut at) = (0.0, f64::INFINITY);
        for choice in choices {
            let wide = width_of(choice) * self.capital + BAR;
            if at + wide <= FOOT_WIDTH {
                at += wide;
            } else if wide <= FOOT_WIDTH {
                height += line + BETWEEN_ROWS;
                at = wide;
            } else {
                height += self.height(choice, FOOT_WIDTH - BAR, 1.0)? + BETWEEN_ROWS;
                at = f64::INFINITY;
            }
        }
        Some(height)
    }
}

/// The choices in the order in which they get room, as in `web/live/sheet.js`: a
/// level, another way, a level, and so on.
fn in_turns(count: usize, ways: usize) -> Vec<usize> {
    let levels = count.saturating_sub(ways);
    let turns = 0..levels.max(ways);
    turns
        .flat_map(|turn| {
            let level = (turn < levels).then_some(turn);
            let way = (turn < ways).then_some(levels + turn);
            level.into_iter().chain(way)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usual() -> Screen {
        // Three metres as near as anybody comes.
        Screen {
            approach_mm: 3_000.0,
            ..Screen::default()
        }
    }

    fn words() -> Words<'static> {
        Words {
            cue: Some("Land with bent knees"),
            board: false,
            task: "Jump off the box and land without a sound.",
            choices: vec!["Straight jump", "Star jump", "Tuck jump", "Jump the line"],
            ways: 1,
            reminders: vec!["Jump when the mat is empty."],
        }
    }

    #[test]
    fn what_is_short_has_room_on_a_usual_screen() {
        assert_eq!(without_room(&words(), Shape::Square, &usual()), []);
    }

    #[test]
    fn what_is_too_long_is_named_and_the_rest_stays() {
        let task = "Run, ".repeat(40);
        let long = Words {
            task: &task,
            ..words()
        };
        let gone = without_room(&long, Shape::Square, &usual());
        assert_eq!(gone, [Part::Task]);
        let cue = "Push away from the stack of mats and stretch ".repeat(8);
        let long = Words {
            cue: Some(&cue),
            ..words()
        };
        let gone = without_room(&long, Shape::Square, &usual());
        assert_eq!(gone[0], Part::Cue);
        assert!(gone.contains(&Part::Choice(0)) && !gone.contains(&Part::Reminder(0)));
    }

    #[test]
    fn of_many_choices_the_first_of_each_kind_stay_longest() {
        let level = "Forward roll down the long wedge";
        let many = Words {
            choices: vec![level; 12],
            ways: 4,
            ..words()
        };
        let gone = without_room(&many, Shape::Disc, &usual());
        assert!(gone.len() > 2, "{gone:?}");
        for first in [0, 8] {
            assert!(!gone.contains(&Part::Choice(first)), "{gone:?}");
        }
    }

    #[test]
    fn of_many_reminders_the_last_have_no_room() {
        let many = Words {
            reminders: vec!["Wait behind the blue line until the mat is free."; 6],
            ..words()
        };
        let gone = without_room(&many, Shape::Star, &usual());
        assert!(gone.contains(&Part::Reminder(5)) && !gone.contains(&Part::Reminder(0)));
        // A star takes more of the column than a disc.
        assert!(gone.len() >= without_room(&many, Shape::Disc, &usual()).len());
    }

    #[test]
    fn on_a_board_each_choice_has_its_own_place_for_its_words() {
        let board = Words {
            cue: None,
            board: true,
            ..words()
        };
        assert_eq!(without_room(&board, Shape::Disc, &usual()), []);
        let long = Words {
            choices: vec![
                "Jump",
                "Stretch up as tall as you can and turn about slowly",
            ],
            ..board.clone()
        };
        assert_eq!(without_room(&long, Shape::Disc, &usual()), []);
        let many = Words {
            choices: [long.choices.clone(), vec!["Jump"; 4]].concat(),
            ..board
        };
        assert_eq!(
            without_room(&many, Shape::Disc, &usual()),
            [Part::Choice(1)]
        );
    }

    #[test]
    fn levels_and_ways_take_turns() {
        assert_eq!(in_turns(5, 2), [0, 3, 1, 4, 2]);
        assert_eq!(in_turns(2, 2), [0, 1]);
        assert_eq!(in_turns(1, 3), [0, 1, 2]);
    }
}
