// Written by the test in src/core/wire/tests.rs from the Rust types; do not edit.

export type Applies = { "clock": "live" } | { "clock": "at_capture", 
/**
 * Unix microseconds on the capture timeline.
 */
capture_us: number, };

export type CameraState = "starting" | "showing" | "stalled" | "unreachable" | "refused" | "not_a_camera" | "unsuitable" | "ended" | "missing_part";

export type CoverReason = "dont_show" | "wiped" | "covered" | "paused";

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
calibrating: boolean, };

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
figure: string | null, };

export type Task = { 
/**
 * In few words.
 */
task: string, 
/**
 * The one thing to look for.
 */
cue: Shown | null, 
/**
 * What may be chosen from, in no order of merit.
 */
levels: Array<Shown>, 
/**
 * Safety and courtesy.
 */
reminders: Array<string>, 
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
turn: Turn | null, };

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
 * The station's number.
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
t3_us: number, } | { "type": "state" } & StationState | { "type": "sheet" } & Sheet | { "type": "run", 
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
dropped_pictures: number, };

export type CameraNote = { "note": "converts_h265" } | { "note": "converts_jpeg" } | { "note": "converts_b_frames" } | { "note": "converts_interlaced" } | { "note": "converts_profile" } | { "note": "reduced", 
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
sight: SightTrouble | null, };

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

export type CalibrationRefusal = "not_found" | "too_dark" | "too_few" | "uneven" | "impossible" | "hidden" | "no_camera" | "no_screen" | "no_decoder" | "stopped";

export type CalibrationOrder = "start" | "stop" | "forget";

export type CalibrationAsk = { 
/**
 * What is asked.
 */
order: CalibrationOrder, };

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

export type StationList = { 
/**
 * The capture clock as this was written.
 */
now_us: number, 
/**
 * In the order of the circuit.
 */
stations: Array<StationInfo>, };

export type StationPatch = { 
/**
 * The new delay.
 */
delay_ms: number, };

export type Order = "dont_show" | "wipe" | "cover_from_now" | "uncover" | "pause" | "resume";

export type StationOrder = { 
/**
 * What is asked.
 */
order: Order, };

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
too_long: Array<number>, };

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
