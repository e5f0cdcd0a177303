// Written by the test in src/core/wire/tests.rs from the Rust types; do not edit.

export type Applies = { "clock": "live" } | { "clock": "at_capture", 
/**
 * Unix microseconds on the capture timeline.
 */
capture_us: number, };

export type CameraState = "off" | "starting" | "showing" | "stalled" | "unreachable" | "refused" | "not_a_camera" | "unsuitable" | "ended" | "missing_part" | "no_publisher";

export type CoverReason = "dont_show" | "wiped" | "covered" | "paused";

export type Again = { "kind": "playing", 
/**
 * Capture time of its first picture.
 */
from_us: number, 
/**
 * The capture time at which it is over.
 */
to_us: number, 
/**
 * When the first picture is on the glass.
 */
starts_us: number, 
/**
 * When it is over.
 */
ends_us: number, } | { "kind": "held", 
/**
 * Its capture time.
 */
at_us: number, };

export type AgainAsk = "again" | "hold" | "step_back" | "step_on" | "go_on";

export type StationAgain = { 
/**
 * What is asked.
 */
ask: AgainAsk, };

export type AgainAnswer = "done" | "busy" | "nothing";

export type StationState = { 
/**
 * Always [`Applies::Live`]: a camera's health and a delay are.
 */
applies: Applies, 
/**
 * The number on the station's sign.
 */
number: number, 
/**
 * Its title.
 */
title: string, 
/**
 * Capture to glass.
 */
delay_ms: number, 
/**
 * How far back the ring reaches when full.
 */
window_ms: number, 
/**
 * How the camera is.
 */
camera: CameraState, 
/**
 * Since when, on the capture clock.
 */
camera_since_us: number, 
/**
 * Capture time of the oldest picture that may be shown, if there is one.
 */
oldest_us: number | null, 
/**
 * Capture time of the newest picture, if there is one.
 */
newest_us: number | null, 
/**
 * The station is the built-in demo scene, and the screen says so.
 */
demo: boolean, 
/**
 * The screen shows the bars, for the station's camera to film.
 */
calibrating: boolean, 
/**
 * How far back somebody may ask to see once more: a page keeps that much.
 */
attempt_s: number, 
/**
 * What is shown instead of the late picture, if anything.
 */
again: Again | null, 
/**
 * It works without a picture of itself: none is taken, and the cue stands in
 * its place.
 */
quiet: boolean, };

export type Language = "en" | "es";

export type View = "picture" | "text";

export type Look = "dark" | "bright";

export type LetterSizes = { 
/**
 * No letter on the page is smaller.
 */
least: number, 
/**
 * What reads with ease; at least the smallest.
 */
preferred: number, };

export type SheetMark = { 
/**
 * What a child reads.
 */
number: number, 
/**
 * `disc`, `square`, `triangle`, `diamond`, `star`, `ring`, `cross` or
 * `hexagon`.
 */
shape: string, 
/**
 * By its name in the set of Okabe and Ito: `sky-blue`.
 */
colour: string, 
/**
 * The shape as an SVG path in a box of 100.
 */
outline: string, };

export type Shown = { 
/**
 * In the sheet's language.
 */
text: string, 
/**
 * The figure's id, where there is one.
 */
figure: string | null, 
/**
 * The teacher's own picture instead, by the name of its file.
 */
picture: string | null, };

export type Task = { 
/**
 * In few words.
 */
task: string, 
/**
 * The one thing to look for; none on a board.
 */
cue: Shown | null, 
/**
 * A picture board: the choices themselves are what there is to see.
 */
board: boolean, 
/**
 * What may be chosen from, in no order of merit.
 */
levels: Array<Shown>, 
/**
 * Safety and courtesy.
 */
reminders: Array<string>, 
/**
 * What is put right before the group leaves.
 */
reset: string, 
/**
 * The same task another way: a choice like any other.
 */
other_ways: Array<Shown>, };

export type Turn = { 
/**
 * When it began.
 */
began_us: number, 
/**
 * When it is over.
 */
ends_us: number, };

export type Sheet = { 
/**
 * Always [`Applies::Live`]: it is for whoever looks up now.
 */
applies: Applies, 
/**
 * The station's mark.
 */
mark: SheetMark, 
/**
 * The language of its words, and of the page.
 */
language: Language, 
/**
 * How it is told.
 */
view: View, 
/**
 * How it looks.
 */
look: Look, 
/**
 * How large its letters are.
 */
letters: LetterSizes, 
/**
 * Nothing without a unit, or where the unit has no such station.
 */
task: Task | null, 
/**
 * Nothing while no turn runs.
 */
turn: Turn | null, 
/**
 * Every station's mark: where a group is sent to.
 */
stations: Array<SheetMark>, 
/**
 * The marks of groups, by number: whom it is said to.
 */
groups: Array<SheetMark>, };

export type SoundMode = "files" | "rhythm" | "own";

export type SoundPlace = { "at": "hall" } | { "at": "station", 
/**
 * The number on its sign.
 */
station: number, };

export type SoundState = { 
/**
 * Always [`Applies::Live`].
 */
applies: Applies, 
/**
 * This page is the speaker.
 */
speaks: boolean, 
/**
 * What plays while the children work.
 */
mode: SoundMode, 
/**
 * Neither music nor signals, whatever was chosen: the class is a quiet one,
 * or the station.
 */
quiet: boolean, 
/**
 * How many files there are to play…
 */
tracks: number, 
/**
 * …and which list of them that is: it counts up when the folder changes.
 */
listing: number, 
/**
 * Counts the test tones that were asked for.
 */
tones: number, };

export type SoundPage = { 
/**
 * Names it for as long as it is open.
 */
id: number, 
/**
 * Where it hangs.
 */
place: SoundPlace, 
/**
 * It is the speaker.
 */
speaks: boolean, };

export type SoundStanding = "nobody" | "away" | "waits" | "quiet" | "ready" | "plays";

export type SoundInfo = { 
/**
 * What plays while the children work.
 */
mode: SoundMode, 
/**
 * Whether there is sound.
 */
standing: SoundStanding, 
/**
 * The config file names a folder of music.
 */
folder: boolean, 
/**
 * How many files of it can be played, as far as is known.
 */
tracks: number, 
/**
 * The names of those that cannot: not read, not music, or refused by the
 * speaker's browser.
 */
broken: Array<string>, 
/**
 * The pages that are open.
 */
pages: Array<SoundPage>, };

export type SoundPatch = { 
/**
 * What plays while the children work.
 */
mode: SoundMode | null, 
/**
 * Which page is the speaker; 0: none.
 */
speaker: number | null, };

export type FromServer = { "type": "hello", 
/**
 * [`PROTOCOL`].
 */
protocol: number, 
/**
 * The server's build; a page of another one reloads once.
 */
build: string, 
/**
 * The station's number; 0 for a board of the hall.
 */
station: number, 
/**
 * The server's capture clock as this was written.
 */
now_us: number, } | { "type": "clock", 
/**
 * As the screen sent it.
 */
t1_us: number, 
/**
 * Server's capture clock when the question was read.
 */
t2_us: number, 
/**
 * Server's capture clock when the answer was written.
 */
t3_us: number, } | { "type": "state" } & StationState | { "type": "class" } & ScreenClass | { "type": "hall" } & Hall | { "type": "sound" } & SoundState | { "type": "sheet" } & Sheet | { "type": "run", 
/**
 * What `SourceBuffer` takes: `video/mp4; codecs="avc1.PPCCLL"`.
 */
mime: string, 
/**
 * Picture width in pixels.
 */
width_px: number, 
/**
 * Picture height in pixels.
 */
height_px: number, 
/**
 * The first picture's capture time.
 */
from_us: number, } | { "type": "lost", 
/**
 * How many, since the last such message.
 */
pictures: number, } | { "type": "cover", 
/**
 * From when.
 */
applies: Applies, 
/**
 * Why.
 */
reason: CoverReason, } | { "type": "holds", 
/**
 * On the server's capture clock.
 */
at_us: number, } | { "type": "removed" } | { "type": "refused", 
/**
 * What was wrong with it, for a technician.
 */
detail: string, };

export type Click = "short" | "long";

export type FromScreen = { "type": "clock", 
/**
 * The screen's own clock, any epoch, as the question is sent.
 */
t1_us: number, } | { "type": "want", 
/**
 * Unix microseconds on the capture timeline.
 */
from_us: number | null, } | { "type": "report", 
/**
 * Capture time at which its buffer ends, if it holds anything.
 */
buffer_end_us: number | null, 
/**
 * Capture time of the picture on the glass, if there is one.
 */
glass_us: number | null, 
/**
 * How far the glass is from where it should be; positive is late.
 */
error_us: number | null, 
/**
 * Pictures the screen itself left out since it opened.
 */
dropped_pictures: number, } | { "type": "again", } | { "type": "click", 
/**
 * Made up by the page; a press that comes twice counts once.
 */
id: string, 
/**
 * How long it was pressed.
 */
click: Click, } | { "type": "speak", } | { "type": "sound", 
/**
 * Its browser lets sound out.
 */
ready: boolean, 
/**
 * Music plays.
 */
plays: boolean, 
/**
 * The places in the list of those files its browser could not play.
 */
failed: Array<number>, };

export type CameraNote = { "note": "converts_h265" } | { "note": "converts_jpeg" } | { "note": "converts_b_frames" } | { "note": "converts_interlaced" } | { "note": "converts_profile" } | { "note": "uncompressed" } | { "note": "reduced", 
/**
 * Columns.
 */
width_px: number, 
/**
 * Rows.
 */
height_px: number, 
/**
 * Pictures a second.
 */
fps: number, } | { "note": "too_slow" };

export type CameraInfo = { 
/**
 * In a word.
 */
state: CameraState, 
/**
 * Since when.
 */
since_us: number, 
/**
 * For a technician; empty while all is well.
 */
detail: string, 
/**
 * What could be better; empty while all is well.
 */
notes: Array<CameraNote>, 
/**
 * What keeps it from seeing well, as far as can be told from its pictures;
 * nothing while all is well, or nobody may look.
 */
sight: SightTrouble | null, 
/**
 * It does not look any more where it looked: no picture of it is shown until
 * somebody has looked and says that it is right.
 */
moved: boolean, };

export type ViewerInfo = { 
/**
 * Capture time of the picture on its glass.
 */
glass_us: number | null, 
/**
 * How far that is from where it should be; positive is late.
 */
error_ms: number | null, 
/**
 * Pictures the screen left out by itself.
 */
dropped_pictures: number, 
/**
 * Pictures the server left out for it, by now.
 */
lost_pictures: number, 
/**
 * For how long it has taken nothing of what it is sent; up to half a second
 * while all is well.
 */
stuck_ms: number, };

export type LatencyInfo = { 
/**
 * What the config file says.
 */
file_ms: number, 
/**
 * What is in force: measured, or the file's.
 */
now_ms: number, };

export type SightTrouble = "too_dark" | "backlit" | "out_of_focus";

export type CalibrationInfo = { "state": "running", 
/**
 * Changes seen so far…
 */
changes: number, 
/**
 * …of so many.
 */
wanted: number, } | { "state": "found", 
/**
 * What the camera takes.
 */
latency_ms: number, 
/**
 * It may be off by this.
 */
unsure_ms: number, } | { "state": "refused", 
/**
 * Why, in a word; the page has the sentence.
 */
why: CalibrationRefusal, 
/**
 * For a technician; often empty.
 */
detail: string, };

export type CalibrationRefusal = "not_found" | "too_dark" | "too_few" | "uneven" | "impossible" | "hidden" | "camera_off" | "no_camera" | "no_screen" | "no_decoder" | "stopped";

export type CalibrationOrder = "start" | "stop" | "forget";

export type CalibrationAsk = { 
/**
 * What is asked.
 */
order: CalibrationOrder, };

export type PublisherNews = { 
/**
 * Who it is, if it publishes: the last part of the address it was given.
 */
publisher: number | null, 
/**
 * How far the server's clock is ahead of its own wall clock, which its
 * sender reports go by, once it has compared them.
 */
ahead_us: number | null, };

export type PublisherStanding = { 
/**
 * The server's capture clock as this was written.
 */
now_us: number, 
/**
 * Who publishes to this station now, if anybody does.
 */
publisher: number | null, 
/**
 * How the station's camera is: off while there is no class, showing while
 * pictures arrive.
 */
camera: CameraState, 
/**
 * What the camera does not see well, if anything.
 */
sight: SightTrouble | null, 
/**
 * It was moved: no picture of it is shown until somebody has looked.
 */
moved: boolean, };

export type StationInfo = { 
/**
 * The number on its sign.
 */
number: number, 
/**
 * Its title.
 */
title: string, 
/**
 * Capture to glass.
 */
delay_ms: number, 
/**
 * The step in which it is set.
 */
delay_step_ms: number, 
/**
 * The most the window allows.
 */
delay_most_ms: number, 
/**
 * The delay that is kept: less than what was set while memory is short.
 */
delay_now_ms: number, 
/**
 * How far back the ring reaches when full.
 */
window_ms: number, 
/**
 * How far back it can be counted on: less than the window while memory is
 * short.
 */
reach_ms: number, 
/**
 * Encoded bytes in the ring.
 */
ring_bytes: number, 
/**
 * It is the built-in demo scene.
 */
demo: boolean, 
/**
 * No picture of it is on any screen, until it is resumed.
 */
paused: boolean, 
/**
 * Pictures taken from then on are not shown, until it is uncovered.
 */
covered_from_us: number | null, 
/**
 * How its camera is.
 */
camera: CameraInfo, 
/**
 * How long an attempt lasts: what is shown again.
 */
attempt_s: number, 
/**
 * The shortest it can be set to.
 */
attempt_least_s: number, 
/**
 * The longest.
 */
attempt_most_s: number, 
/**
 * What its screens show instead of the late picture, if anything.
 */
again: Again | null, 
/**
 * What is taken off its capture times.
 */
latency: LatencyInfo, 
/**
 * The calibration that runs, or the last one since the start.
 */
calibration: CalibrationInfo | null, 
/**
 * Capture time of the oldest picture that may be shown.
 */
oldest_us: number | null, 
/**
 * Capture time of the newest picture.
 */
newest_us: number | null, 
/**
 * The screens that watch it.
 */
viewers: Array<ViewerInfo>, };

export type AgainSaid = { 
/**
 * What came of it.
 */
answer: AgainAnswer, 
/**
 * How the station is now.
 */
station: StationInfo, };

export type Part = { "name": "station", 
/**
 * The number on its sign.
 */
number: number, } | { "name": "class" } | { "name": "sheets" } | { "name": "sight" } | { "name": "list" } | { "name": "sound" } | { "name": "network" } | { "name": "publishing" } | { "name": "memory" } | { "name": "service" } | { "name": "pages" };

export type FailedPart = { 
/**
 * Which.
 */
part: Part, 
/**
 * It was started again; if not, it is about to be.
 */
runs: boolean, };

export type StationList = { 
/**
 * The capture clock as this was written.
 */
now_us: number, 
/**
 * In the order of the circuit.
 */
stations: Array<StationInfo>, 
/**
 * The parts of the program that failed lately, a fault each.
 */
failed: Array<FailedPart>, };

export type StationPatch = { 
/**
 * The new delay.
 */
delay_ms?: number, 
/**
 * How long an attempt lasts.
 */
attempt_s?: number, };

export type Order = "dont_show" | "wipe" | "cover_from_now" | "uncover" | "pause" | "resume" | "camera_right";

export type StationOrder = { 
/**
 * What is asked.
 */
order: Order, };

export type GroupNumber = number;

export type Phase = "warm_up" | "briefing" | "work" | "last_turn" | "gather" | "walk" | "closing" | "done";

export type Hold = "pause" | "dark" | "freeze" | "leave" | "accident";

export type Times = { 
/**
 * Before anything else.
 */
warm_up_s: number, 
/**
 * The stations are explained.
 */
briefing_s: number, 
/**
 * At each station, the last turn included.
 */
work_s: number, 
/**
 * The end of that: finish, no new starts.
 */
last_turn_s: number, 
/**
 * Stand at your sign; the station is put right.
 */
gather_s: number, 
/**
 * To the next station.
 */
walk_s: number, 
/**
 * Stretching at the end.
 */
closing_s: number, };

export type Crowd = "rest" | "share";

export type Accident = { 
/**
 * When it was pressed, by the clock on the wall: Unix milliseconds.
 */
wall_ms: number, 
/**
 * Where, once somebody has said so.
 */
station: number | null, 
/**
 * How that station was set up.
 */
setup: string, };

export type Hands = "none" | "close" | "floor";

export type Why = "wall_clock" | "long_away";

export type Press = { "press": "next" } | { "press": "back" } | { "press": "more" } | { "press": "hold", 
/**
 * Which.
 */
hold: Hold, } | { "press": "resume", 
/**
 * Which wait is over.
 */
hold: Hold, } | { "press": "accident_at", 
/**
 * The station.
 */
station: number, } | { "press": "close", 
/**
 * The station.
 */
station: number, } | { "press": "open", 
/**
 * The station.
 */
station: number, } | { "press": "cover_group", 
/**
 * The group.
 */
group: GroupNumber, } | { "press": "finish" } | { "press": "end" };

export type ClassTime = { 
/**
 * The phase.
 */
phase: Phase, 
/**
 * The turn, counted from 1; in a walk, the one that is over.
 */
turn: number, 
/**
 * How many turns the circuit has.
 */
turns: number, 
/**
 * When the phase ends, on the server's clock; nothing while the class
 * waits. A page counts down to it by itself.
 */
ends_us: number | null, 
/**
 * How much of the phase was left as this was written.
 */
left_ms: number, 
/**
 * How long the phase is when nobody presses anything.
 */
whole_ms: number, 
/**
 * Why the class waits: of several reasons the gravest.
 */
hold: Hold | null, };

export type GroupHere = { 
/**
 * Its number; its mark has that number's colour and shape.
 */
group: GroupNumber, 
/**
 * It works here; if not it rests beside.
 */
works: boolean, 
/**
 * Its children cannot be split into pairs at this station in pairs: three
 * work together.
 */
three: boolean, 
/**
 * The station it goes to next; nothing where it goes to rest, or where
 * this is the last turn.
 */
next: number | null, };

export type Stay = { 
/**
 * Its first moment.
 */
from_us: number, 
/**
 * The first one after; nothing while they work.
 */
to_us: number | null, };

export type Refinement = "hold_still" | "land_softly" | "stretch" | "small" | "one_spot" | "tall";

export type ClassChange = { "change": "quiet", 
/**
 * Whether that is so.
 */
on: boolean, } | { "change": "station_quiet", 
/**
 * Which.
 */
station: number, 
/**
 * Whether that is so.
 */
on: boolean, } | { "change": "refine", 
/**
 * Which; none where nothing is to be said.
 */
cue: Refinement | null, };

export type ScreenClass = { 
/**
 * Always [`Applies::Live`].
 */
applies: Applies, 
/**
 * Nothing while no class runs.
 */
time: ClassTime | null, 
/**
 * Nobody works at this station in this class, or not any more.
 */
closed: boolean, 
/**
 * Nobody spots today: it is done on the floor.
 */
floor: boolean, 
/**
 * Who has its place here at this turn, or will at the first.
 */
groups: Array<GroupHere>, 
/**
 * The groups that come here next.
 */
coming: Array<GroupNumber>, 
/**
 * Pictures that may be seen now are of this stay, so that nobody is shown
 * another group's attempts; nothing before the first turn.
 */
stay: Stay | null, 
/**
 * What to look for today, at every station.
 */
refine: Refinement | null, };

export type HallStation = { 
/**
 * Its mark.
 */
mark: SheetMark, 
/**
 * Nobody works there.
 */
closed: boolean, };

export type HallGroup = { 
/**
 * Its mark.
 */
mark: SheetMark, 
/**
 * The station whose place it has at this turn, or will at the first.
 */
station: number | null, 
/**
 * It works there; if not it rests beside.
 */
works: boolean, 
/**
 * Where it goes next; nothing where it goes to rest, or nowhere.
 */
next: number | null, };

export type Hall = { 
/**
 * Always [`Applies::Live`].
 */
applies: Applies, 
/**
 * Nothing while no class runs.
 */
time: ClassTime | null, 
/**
 * In walking order.
 */
stations: Array<HallStation>, 
/**
 * By number; one without children is left out.
 */
groups: Array<HallGroup>, 
/**
 * How it is told.
 */
view: View, 
/**
 * How it looks.
 */
look: Look, 
/**
 * What to look for today, at every station.
 */
refine: Refinement | null, };

export type GroupInfo = { 
/**
 * Its number.
 */
group: GroupNumber, 
/**
 * How many children are in it today.
 */
children: number, 
/**
 * The station whose place it has at this turn; nothing while it rests.
 */
station: number | null, 
/**
 * It works there; if not it rests beside.
 */
works: boolean, 
/**
 * The station it goes to next.
 */
next: number | null, 
/**
 * Pictures of it are not shown: covered, or never shown.
 */
covered: boolean, };

export type ClassStation = { 
/**
 * The number on its sign.
 */
number: number, 
/**
 * How it is set up for this class.
 */
setup: string, 
/**
 * Nobody works there.
 */
closed: boolean, 
/**
 * It can be opened again: it has a place in this circuit.
 */
in_circuit: boolean, 
/**
 * It is done on the floor today.
 */
floor: boolean, 
/**
 * It has no picture of itself, and its TV makes no sound.
 */
quiet: boolean, };

export type RunningClass = { 
/**
 * What it is called.
 */
title: string, 
/**
 * Goes up with each phase: a press says which it saw.
 */
step: number, 
/**
 * Phase, turn, time left.
 */
time: ClassTime, 
/**
 * Every reason to wait; all have to be resumed.
 */
holds: Array<Hold>, 
/**
 * The groups, by number.
 */
groups: Array<GroupInfo>, 
/**
 * The stations, in walking order.
 */
stations: Array<ClassStation>, 
/**
 * What is noted of accidents.
 */
accidents: Array<Accident>, 
/**
 * It is the demo's own, and gives way to any other.
 */
demo: boolean, 
/**
 * No station has a picture of itself, and there is no sound.
 */
quiet: boolean, 
/**
 * What to look for today, at every station.
 */
refine: Refinement | null, 
/**
 * Why every group is covered: nobody can tell who may be shown.
 */
not_known: NotKnown | null, 
/**
 * The teacher has said who is not shown, where the list cannot tell.
 */
is_said: boolean, };

export type NotKnown = "unreadable" | "class" | "groups" | "empty";

export type ShownAsk = { 
/**
 * By number.
 */
not_shown: Array<GroupNumber>, };

export type AfterRestart = { 
/**
 * What it is called.
 */
title: string, 
/**
 * Why that is not known.
 */
why: Why, 
/**
 * How it would stand if the boot clock is right.
 */
going_on: ClassTime, 
/**
 * How it stood when the box was last heard of.
 */
as_it_was: ClassTime, };

export type ClassInfo = { 
/**
 * The capture clock as this was written.
 */
now_us: number, 
/**
 * The class that runs.
 */
class: RunningClass | null, 
/**
 * A class was interrupted and it is not known for how long: answer with
 * [`ClassAnswer`](super::ClassAnswer).
 */
asks: AfterRestart | null, 
/**
 * It is the demo: it runs without a class too, and starts over by itself.
 */
demo: boolean, };

export type AnswerAfterRestart = "go_on" | "as_it_was" | "end";

export type ClassAnswer = { 
/**
 * What.
 */
answer: AnswerAfterRestart, };

export type ClassPress = { 
/**
 * Made up by the remote, another one for each press; the same one when a
 * press is sent again because its answer was lost.
 */
id: string, 
/**
 * What.
 */
press: Press, 
/**
 * The step the remote showed, if it matters.
 */
seen?: number, };

export type PressAnswer = { 
/**
 * It had been done before: the same press again, or another remote was
 * first.
 */
already: boolean, 
/**
 * How the class stands now.
 */
now: ClassInfo, };

export type KnownClass = { 
/**
 * What it is called.
 */
title: string, 
/**
 * Its grade, in years after kindergarten, as it was told last.
 */
grade: number | null, 
/**
 * How many came last time.
 */
children: number, 
/**
 * How many groups it had.
 */
groups: number, 
/**
 * The groups that are not to be shown; nothing where nobody has said.
 */
not_shown: Array<GroupNumber> | null, 
/**
 * Its circuit goes on with this turn, counted from 1.
 */
goes_on_with: number | null, 
/**
 * How many turns that circuit has.
 */
turns: number | null, 
/**
 * How long its parts took.
 */
times: Times, };

export type InBoth = { 
/**
 * In English.
 */
en: string, 
/**
 * In Spanish.
 */
es: string, };

export type StationChange = { 
/**
 * What is taken away.
 */
gone: Array<InBoth>, 
/**
 * What is put there.
 */
come: Array<InBoth>, 
/**
 * It stands as a younger class had it, which is the easier of the two: it
 * can be left so for both when time is short.
 */
easier_as_it_stands: boolean, };

export type StartStation = { 
/**
 * The number on its sign.
 */
number: number, 
/**
 * Children work two and two.
 */
in_pairs: boolean, 
/**
 * What becomes of it when nobody spots.
 */
hands: Hands, 
/**
 * What has to be set up anew; nothing where it stands as it is wanted.
 */
change: StationChange | null, };

export type GradeStart = { 
/**
 * Years after kindergarten; nothing for a class without a grade.
 */
grade: number | null, 
/**
 * In walking order; a station the grade does not have is not among them.
 */
stations: Array<StartStation>, };

export type StartInfo = { 
/**
 * The classes that are known, the likeliest first.
 */
classes: Array<KnownClass>, 
/**
 * What accidents were noted, newest first.
 */
accidents: Array<Accident>, 
/**
 * What is taken where nothing is set.
 */
times: Times, 
/**
 * The stations as each grade finds them; one without a grade too.
 */
grades: Array<GradeStart>, };

export type ClassStart = { 
/**
 * Made up by the remote, as for a press.
 */
id: string, 
/**
 * Which class: what it is called.
 */
class: string, 
/**
 * Its grade, in years after kindergarten: what stands at the stations and
 * what the screens say follow from it.
 */
grade?: number, 
/**
 * How many children are here.
 */
children: number, 
/**
 * How many groups; nothing: as many as stations are open, or as last time.
 */
groups?: number, 
/**
 * The groups that are not to be shown, where nobody has said so yet, or
 * that has changed.
 */
not_shown?: Array<GroupNumber>, 
/**
 * Stations whose change was done; the others that need one start closed.
 */
ticked?: Array<number>, 
/**
 * Stations that are left as they stand, where that is the easier of two
 * set-ups.
 */
as_it_stands?: Array<number>, 
/**
 * Stations that start closed for any other reason.
 */
closed?: Array<number>, 
/**
 * Nobody spots today.
 */
no_spotter?: boolean, 
/**
 * What more groups than stations do.
 */
crowd?: Crowd, 
/**
 * It is the first lesson with cameras: they are explained, which takes a
 * minute.
 */
camera_briefing?: boolean, 
/**
 * A new circuit although the last one is not finished.
 */
anew?: boolean, 
/**
 * How long each part takes, if not as last time.
 */
times?: Times, 
/**
 * How long the lesson is: the work is made to fill it, where it can be.
 */
lesson_s?: number, 
/**
 * No station has a picture of itself, and there is no sound.
 */
quiet?: boolean, 
/**
 * What to look for today, at every station.
 */
refine?: Refinement, };

export type StartAsk = "not_shown";

export type StartAnswer = { 
/**
 * What has to be said first; empty once the class runs.
 */
asks: Array<StartAsk>, 
/**
 * How many groups there would be, for that.
 */
groups: number, 
/**
 * How the class stands now.
 */
now: ClassInfo, };

export type ViewChoice = "by_grade" | "picture" | "text";

export type StationLanguage = { 
/**
 * The number on its sign.
 */
station: number, 
/**
 * `null`: each screen keeps the one it was opened in.
 */
language: Language | null, };

export type CueChoice = { 
/**
 * Its id.
 */
id: string, 
/**
 * Its words.
 */
text: InBoth, };

export type StationCues = { 
/**
 * The number on its sign.
 */
station: number, 
/**
 * All of them.
 */
cues: Array<CueChoice>, 
/**
 * The id of the one that is shown where nobody chose.
 */
planned: string | null, 
/**
 * The id of the one that somebody chose; it stays.
 */
pinned: string | null, };

export type CuePick = { 
/**
 * The number on its sign.
 */
station: number, 
/**
 * Which cue stays; `null`: as planned.
 */
cue: string | null, };

export type TunedKind = "delay" | "cue";

export type Otherwise = { "what": "delay", 
/**
 * What the class had.
 */
delay_ms: number, 
/**
 * What is planned.
 */
planned_ms: number, } | { "what": "cue", 
/**
 * The one that was chosen.
 */
cue: InBoth, 
/**
 * The one that is planned.
 */
planned: InBoth | null, };

export type KeepOffer = { 
/**
 * Which class.
 */
class: string, 
/**
 * The number of the station.
 */
station: number, 
/**
 * What the station is called.
 */
title: InBoth, 
/**
 * What.
 */
otherwise: Otherwise, 
/**
 * The version of the unit file it would be kept in; nothing where the box
 * itself keeps it.
 */
version: string | null, 
/**
 * It can be kept for everybody. A cue of one level cannot while another is
 * for all.
 */
for_everybody: boolean, };

export type KeepOffers = { 
/**
 * What there is to say, the class that was here last first; nothing while a
 * class runs.
 */
offers: Array<KeepOffer>, };

export type KeepFor = "everybody" | "class" | "nobody";

export type KeepAsk = { 
/**
 * Which class.
 */
class: string, 
/**
 * The number of the station.
 */
station: number, 
/**
 * What.
 */
what: TunedKind, 
/**
 * For whom.
 */
keep: KeepFor, 
/**
 * The version of the unit file that the offer named.
 */
version?: string, };

export type UnitChoice = { 
/**
 * Its file's name, without its ending.
 */
name: string, 
/**
 * Its title.
 */
title: InBoth, };

export type Showing = { 
/**
 * The grade in the gym; 0 is kindergarten. Nothing: no class.
 */
grade: number | null, 
/**
 * Which view was chosen.
 */
choice: ViewChoice, 
/**
 * Which that is for this grade.
 */
view: View, 
/**
 * How it looks.
 */
look: Look, 
/**
 * Stations whose screens were given a language.
 */
languages: Array<StationLanguage>, 
/**
 * Stations whose cue is too long to be read on their screen.
 */
too_long: Array<number>, 
/**
 * The cues of each station that has any for this grade.
 */
cues: Array<StationCues>, 
/**
 * The name of the unit that is in use.
 */
unit: string | null, 
/**
 * The units there are to choose from.
 */
units: Array<UnitChoice>, };

export type ShowingPatch = { 
/**
 * Another grade; `null`: no class.
 */
grade: number | null, 
/**
 * Another view.
 */
choice: ViewChoice | null, 
/**
 * Another look.
 */
look: Look | null, 
/**
 * Another language for one station.
 */
language: StationLanguage | null, };
