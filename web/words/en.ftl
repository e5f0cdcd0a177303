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
remote-tv = TV page
remote-delay = Delay in seconds
remote-less = Half a second less
remote-more = Half a second more
remote-unit = s late
remote-no-script = The remote needs scripts. The TVs go on without it.

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
live-note-uncompressed = This camera sends its pictures uncompressed. Give it a USB socket of its own.
live-note-reduced = The box is too slow for full pictures. It shows { $width_px } × { $height_px }, { $fps } a second.
live-note-too-slow = The box is too slow for this camera. Some pictures are left out.
live-remote-screens = Screens: { $screens }
live-remote-lost = Pictures lost: { $pictures }
live-remote-set = Set: { $seconds } s late
live-remote-setting = Setting…
live-remote-bad-number = Type a number of seconds from 0 to { $most }.
live-remote-bad-step = Use steps of { $step } s.
live-remote-no-answer = The box does not answer. The TVs go on or cover themselves.
live-remote-not-set = Not set: the box does not answer. Press again when it is back.
live-remote-refused = Not set: { $detail }
