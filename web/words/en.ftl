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
home-numbers = On a phone or tablet
home-trust = The device warns? Let it trust the box

# The TV page
tv-no-script = This page needs scripts to show the picture.

# The remote
remote-title = Remote
remote-intro = How late each screen is. A change shows on the screen at once.
remote-none = No stations yet. Add a camera to the box's settings file, then start the box again.
remote-home = All pages
remote-roster = Classes and consent
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

# Trusting the box
trust-title = Let a device trust the box
trust-what = Phones, tablets and computers reach the box by an encrypted line. Each has to trust the box's certificate once; until then it warns. For the school's technician, a few minutes a device.
trust-school = This box shows a certificate of your school. Devices that trust the school have nothing to do.
trust-fingerprint-title = First compare
trust-fingerprint-what = The box writes this fingerprint where it was started, and in its log. Compare it there, not only here. If one pair differs, stop: somebody may stand between you and the box.
trust-get-title = Then fetch the certificate
trust-get = Certificate, for most devices
trust-get-pem = The same as text, for Linux
trust-limits = It vouches for { $name } and for addresses inside a building, for web pages only, until { $until }.
trust-devices-title = And let the device trust it
trust-many = Many at once:
trust-windows = Windows
trust-windows-1 = Open the downloaded file and choose “Install Certificate”, then “Local Machine”.
trust-windows-2 = Choose “Place all certificates in the following store”, then “Trusted Root Certification Authorities”.
trust-windows-3 = Finish, and start the browser again.
trust-windows-many = Group Policy, Public Key Policies, Trusted Root Certification Authorities.
trust-mac = Mac
trust-mac-1 = Open the downloaded file. Keychain Access adds it; choose the keychain “System”.
trust-mac-2 = Open it in the list, open “Trust”, and set “Secure Sockets Layer (SSL)” to “Always Trust”.
trust-mac-3 = Close the window and type the administrator's password.
trust-mac-many = Device management, with a certificate payload.
trust-ios = iPad and iPhone
trust-ios-1 = Open this page in Safari, touch the certificate and allow the profile.
trust-ios-2 = Settings, General, VPN & Device Management: open the downloaded profile and install it.
trust-ios-3 = The second switch: Settings, General, About, Certificate Trust Settings: turn full trust on. Without it the device goes on warning.
trust-ios-many = Device management, with a certificate payload; then there is no second switch.
trust-chromeos = Chromebook
trust-chromeos-1 = Type chrome://certificate-manager as an address. On older ones: Settings, Privacy and security, Manage certificates, Authorities.
trust-chromeos-2 = Import the downloaded file and trust it for websites.
trust-chromeos-many = Admin console, Devices, Networks, Certificates. A managed Chromebook may take it from there alone.
trust-android = Android
trust-android-1 = In Settings search for “CA certificate”. It stands under Security, Encryption & credentials, Install a certificate.
trust-android-2 = Choose “CA certificate”, “Install anyway”, and the downloaded file. Android asks for a screen lock.
trust-android-3 = Before Android 12 use an address by number, below. That the network may be monitored, Android says of every added certificate.
trust-android-many = Device management, as a trusted CA certificate.
trust-linux = Linux
trust-linux-1 = Save the text as /usr/local/share/ca-certificates/afterturn.crt and run update-ca-certificates as root.
trust-linux-2 = Chrome and Chromium have a list of their own: chrome://certificate-manager, import, trust it for websites.
trust-linux-many = The same file by your usual tool.
trust-firefox = Firefox, on any system
trust-firefox-1 = Settings, Privacy & Security, View Certificates, Authorities, Import.
trust-firefox-2 = Tick “Trust this CA to identify websites”.
trust-firefox-many = The policy “Certificates”, “ImportEnterpriseRoots” or “Install”.
trust-tv = TVs
trust-tv-1 = Most TVs take no certificate. The TV as a screen of the box itself needs none; for others see plain_screens in the settings file.
trust-try-title = Try it
trust-try = Close this page and open the box by one of these. There is no warning any more.
trust-try-number = By number, for devices that do not find the name:
trust-undo = To take the trust back, remove the certificate where it was added; it is called “Afterturn box”.

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
