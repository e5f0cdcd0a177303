# Afterturn's words in English. One message, one thing said; plain, calm, short.
#
# Ids that start with "live-" are for scripts: plain text, no plural forms.
# The same ids and variables stand in every language's file; a test compares.

# The box's front page
home-title = Afterturn
home-what = The screens at the stations show each child their own turn, a few seconds later.
home-demo = This is the demo: the pictures are drawn, no camera is on.
home-stations = Stations
home-open-tv = Open the TV page
home-open-remote = Open the remote
home-none = No stations yet. Add a camera to the box's settings file, then start the box again.

# The TV page
tv-no-script = This page needs scripts to show the picture.

# The remote
remote-title = Remote
remote-intro = How late each screen is. A change shows on the screen at once.
remote-none = No stations yet. Add a camera to the box's settings file, then start the box again.
remote-home = All pages
remote-screens = Screens and helpers
remote-tv = TV page
remote-delay = Delay in seconds
remote-less = Half a second less
remote-more = Half a second more
remote-unit = s late
remote-no-script = The remote needs scripts. The TVs go on without it.

# Somebody nobody has let in yet
strangers-screen = This is a screen
strangers-screen-what = It shows a code, and the teacher lets it in.
strangers-sign-in = Sign in
strangers-sign-in-what = For the teacher, with the passphrase, and for helpers, with the PIN.

# Signing in
sign-in-title = Sign in
sign-in-first-title = Set the passphrase
sign-in-first-what = The box has just shown a code where it was started. Type it here, and choose the passphrase for the teacher.
sign-in-code = Code from the box
sign-in-new-passphrase = New passphrase, 12 characters or more; four words are good
sign-in-again = The same again
sign-in-set = Set the passphrase
sign-in-passphrase = Teacher's passphrase
sign-in-go = Sign in
sign-in-helper = Helpers
sign-in-pin = PIN, six digits
sign-in-go-helper = Sign in as a helper
sign-in-wrong = That is not right. Try again.
sign-in-code-wrong = That is not the code. Read it again from the box.
sign-in-wait = Too many wrong tries. Wait { $seconds } s, then try again.
sign-in-short = Take 12 to 128 characters. Four words are good.
sign-in-common = This is one of the first that anybody tries. Take another.
sign-in-differ = The two do not match. Type the same passphrase twice.

# A screen that waits
pair-title = Let this screen in
pair-what = Open the remote, then Screens, and type this code.

# Who is let in
screens-title = Screens and helpers
screens-let-in-title = Let a screen in
screens-let-in-what = Open the box's address on the TV and choose “This is a screen”. It shows a code.
screens-code = Code on the screen
screens-station = Station it stands at
screens-let-in-go = Let it in
screens-let-in = Let in. The screen starts by itself.
screens-no-code = No screen shows this code now. Read it again from the screen.
screens-no-station = There is no such station.
screens-in-title = Let in now
screens-none = Nobody yet.
screens-teacher = Teacher
screens-helper = Helper
screens-screen = Screen of station
screens-camera = Camera of station
screens-own = this browser
screens-remove = Remove
screens-removed = Removed. It shows nothing any more.
screens-gone = It was gone already.
screens-pin-title = PIN for helpers
screens-pin-what = With it a helper can pause, cover and say “don't show”. Helpers see no names and keep nothing.
screens-pin-is-set = A PIN is set. A new one signs all helpers out.
screens-pin-is-not-set = No PIN is set: helpers cannot sign in.
screens-pin = New PIN, six digits
screens-pin-go = Set the PIN
screens-pin-end = No PIN any more
screens-pin-set = The PIN is set.
screens-pin-none = Helpers cannot sign in any more.
screens-pin-wrong = A PIN has six digits.
screens-pin-plain = These digits are easily guessed. Take others.
screens-sign-out = Sign out
screens-remote = Back to the remote

# A page that could not be shown
problem-home = Back to the first page

demo-notice = Demo: drawn pictures

# On the TV
live-late = { $seconds } s late
live-soonest = nearly live
live-figure-seconds = { $seconds } s
live-card-opening = One moment.
live-card-moment = One moment.
live-card-filling = First picture in
live-card-link = No link to the box. Trying again.
live-card-covered = Not shown
live-card-paused = Paused
live-card-tap = Tap to start
live-band-camera = Camera is away. Trying again.
live-camera-starting = The camera is starting.
live-camera-showing = The camera is on.
live-camera-stalled = The camera sends no pictures. Trying again.
live-camera-unreachable = The camera does not answer. Trying again.
live-camera-refused = The camera refuses the password.
live-camera-not-a-camera = No camera at this address.
live-camera-unsuitable = This camera's pictures cannot be shown.
live-camera-ended = The camera went away. Trying again.
live-camera-missing-part = The box lacks a part for this camera.

# On the remote
live-order-dont-show = Don't show
live-order-pause = Pause
live-order-resume = Show again
live-order-cover-from-now = Cover from now
live-order-uncover = Uncover
live-order-wipe = Wipe
live-ordered-dont-show = What has not been seen yet stays unseen.
live-ordered-pause = Paused: no picture on any screen.
live-ordered-resume = Late pictures again.
live-ordered-cover-from-now = What happens from now on is not shown.
live-ordered-uncover = What happens from now on is shown.
live-ordered-wipe = Wiped: everything up to now is forgotten.
live-note-converts-h265 = This camera sends H.265. The box converts it, which takes half a processor. Set the camera's video to H.264 to save that.
live-note-converts-jpeg = This camera sends Motion JPEG. The box converts it, which takes a quarter of a processor. Set the camera's video to H.264 to save that.
live-note-converts-b-frames = This camera sends B-frames. The box converts them, which takes half a processor. Turn B-frames off in the camera, or set its profile to Baseline.
live-note-converts-interlaced = This camera sends interlaced pictures. The box converts them, which takes half a processor. Set the camera's video to progressive to save that.
live-note-converts-profile = TVs do not play this camera's H.264. The box converts it, which takes half a processor. Set the camera's profile to Main or High, 8 bit.
live-note-reduced = The box is too slow for full pictures. It shows { $width_px } × { $height_px }, { $fps } a second.
live-note-too-slow = The box is too slow for this camera. Some pictures are left out.
live-remote-screens = Screens: { $screens }
live-remote-stuck = Screens not answering: { $screens }
live-remote-lost = Pictures lost: { $pictures }
live-remote-memory = Memory is short: pictures go back { $reach } s, not { $window } s.
live-remote-memory-delay = Memory is short: pictures go back { $reach } s, not { $window } s. Shown { $delay } s late for now.
live-remote-set = Set: { $seconds } s late
live-remote-setting = Setting…
live-remote-bad-number = Type a number of seconds from 0 to { $most }.
live-remote-bad-step = Use steps of { $step } s.
live-remote-no-answer = The box does not answer. The TVs go on or cover themselves.
live-remote-not-set = Not set: the box does not answer. Press again when it is back.
live-remote-refused = Not set: { $detail }
live-pair-no-answer = The box does not answer.

# The editor of a unit.
remote-unit-editor = Change the unit
unit-title = Unit
unit-what = The circuit in words. What you change here is kept in the unit's file when you save.
unit-demo = This is the demo: changes are forgotten when it ends.
unit-no-script = This page needs scripts. The unit's file can be changed with a text editor too.
unit-others = Units
unit-none = There is no unit file yet. Copy the sample into the folder of the units.
unit-bar = Save and undo
unit-save = Save
unit-undo = Undo
unit-back = Take the last save back
unit-clash-title = Somebody else changed this unit
unit-clash-what = Nothing is overwritten. Here is where the two versions differ. Choose what to go on with.
unit-clash-mine = Put my changes on top
unit-clash-theirs = Keep theirs
unit-sees = What a grade sees
unit-grade = Grade
unit-remote = Remote
live-unit-whole = The whole unit
live-unit-station = { $number } { $title }
live-unit-title = Title
live-unit-grades = Grades (– for all)
live-unit-permissions-what = Some kit and skills are off until it is recorded here that they are allowed.
live-unit-permissions = What is allowed
live-unit-permission = Permission
live-unit-add-permission = Record a permission
live-unit-permitted = What
live-unit-place = Where
live-unit-by = By whom
live-unit-on = Date, such as 2026-08-20
live-unit-ask-first = Ask first (– for nothing to ask)
live-unit-ask-mini-trampoline = mini-trampoline
live-unit-ask-swing-rope = rope to swing on
live-unit-ask-climbing-wall = climbing wall
live-unit-ask-inversions = hips above the head
live-unit-number = Number
live-unit-shape = Shape
live-unit-shape-disc = disc
live-unit-shape-square = square
live-unit-shape-triangle = triangle
live-unit-shape-diamond = diamond
live-unit-shape-star = star
live-unit-shape-ring = ring
live-unit-shape-cross = cross
live-unit-shape-hexagon = hexagon
live-unit-colour = Color
live-unit-colour-black = black
live-unit-colour-orange = orange
live-unit-colour-sky-blue = sky blue
live-unit-colour-green = green
live-unit-colour-yellow = yellow
live-unit-colour-blue = blue
live-unit-colour-vermilion = red
live-unit-colour-purple = purple
live-unit-task = Task
live-unit-lanes = Children at once
live-unit-watch-from = Watching spot
live-unit-hold = Hold, in seconds
live-unit-delay = Delay, in seconds
live-unit-one-way = One way only
live-unit-reset = What the last child puts right
live-unit-reminders = Reminders
live-unit-reminder = Reminder
live-unit-add-reminder = Add a reminder
live-unit-cautions = Cautions for the adult
live-unit-caution = Caution
live-unit-add-caution = Add a caution
live-unit-adult-hands = An adult's hands are needed
live-unit-no-spotter = What is done without them
live-unit-kit = Kit
live-unit-kit-line = Kit
live-unit-add-kit = Add kit
live-unit-item = What it is
live-unit-count = How many
live-unit-length = Or how long, in cm
live-unit-levels = Levels, side by side
live-unit-level = Level
live-unit-add-level = Add a level
live-unit-what-to-do = What to do
live-unit-after = Comes after (– for nothing first)
live-unit-figure = Figure
live-unit-other-ways = Another way, an equal choice
live-unit-other-way = Another way
live-unit-add-other-way = Add another way
live-unit-way = In what it differs
live-unit-way-on-the-line = on the floor line
live-unit-way-with-support = with support
live-unit-way-seated = seated
live-unit-cues = Cues
live-unit-cue = Cue
live-unit-add-cue = Add a cue
live-unit-words = Words, seven at most
live-unit-of = Only with (– for all)
live-unit-bands = Bands: what differs for some grades
live-unit-band = Band
live-unit-add-band = Add a band
live-unit-differs = What else differs
live-unit-differ = Let this differ
live-unit-same = As in the station
live-unit-up = Up
live-unit-down = Down
live-unit-remove = Remove
live-unit-add-station = Add a station
live-unit-no-room = The unit cannot be used as it is. Mend what is marked above.
live-unit-choices = Choose yours
live-unit-left-out = Left out
live-unit-out-ask = { $what }: ask first ({ $ask })
live-unit-out-after = { $what }: what comes first is left out
live-unit-no-answer = The box does not answer. What you typed stays here.
live-unit-mistakes = To mend: { $count }
live-unit-kept = What you had typed is here again, not saved yet.
live-unit-kept-onto = The unit was changed meanwhile. What you had typed is put on top, not saved yet.
live-unit-saving = Saving…
live-unit-saved = Saved.
live-unit-not-saved = Not saved: mend what is marked first.
live-unit-yours = Yours: { $value }
live-unit-theirs = Theirs: { $value }
live-unit-some-lost = Your changes are on top, not saved yet. { $count } no longer fit.
live-unit-onto = Your changes are on top, not saved yet.
live-unit-kept-theirs = Their version. Your changes are dropped.
live-unit-changed = The file was changed elsewhere. This is how it is now.
live-unit-undone = Undone.
