"""A publisher that is no browser and none of ours: GStreamer's webrtcbin, over
WHIP (RFC 9725).

    python gstreamer_publisher.py URL KEY SECONDS

Posts an offer with one H.264 video, sends a moving ball 30 times a second, and
deletes what it was given. Prints what it did, a line each; expects nothing. Needs
the Debian packages python3-gi, gir1.2-gst-plugins-bad-1.0, gstreamer1.0-nice.
"""

import sys
from urllib.parse import urljoin, urlsplit

import gi

gi.require_version("Gst", "1.0")
gi.require_version("GstSdp", "1.0")
gi.require_version("GstWebRTC", "1.0")
from gi.repository import GLib, Gst, GstSdp, GstWebRTC  # noqa: E402

from whip import request  # noqa: E402

PIPELINE = """
    videotestsrc is-live=true pattern=ball ! video/x-raw,width=640,height=480,framerate=30/1
    ! videoconvert ! x264enc tune=zerolatency speed-preset=ultrafast bitrate=1500
    ! video/x-h264,profile=constrained-baseline
    ! rtph264pay config-interval=-1 aggregate-mode=zero-latency
    ! application/x-rtp,media=video,encoding-name=H264,payload=96,clock-rate=90000,packetization-mode=(string)1
    ! webrtcbin name=publisher bundle-policy=max-bundle
"""


class Publisher:
    """Offers once all its candidates are known: nothing is trickled."""

    def __init__(self, url, key, seconds):
        self.url, self.key, self.seconds = url, key, seconds
        self.at = None
        self.loop = GLib.MainLoop()
        self.pipeline = Gst.parse_launch(PIPELINE)
        self.publisher = self.pipeline.get_by_name("publisher")
        if urlsplit(url).hostname == "127.0.0.1":
            # By itself it offers no address that only this machine has.
            # Kept: who drops it in Python takes it from the publisher.
            self.agent = self.publisher.get_property("ice-agent")
            self.agent.emit("add-local-ip-address", "127.0.0.1")
        self.publisher.connect("on-negotiation-needed", self.offer)
        self.publisher.connect("notify::ice-gathering-state", self.gathered)

    def offer(self, publisher):
        transceiver = publisher.emit("get-transceiver", 0)
        transceiver.set_property("direction", GstWebRTC.WebRTCRTPTransceiverDirection.SENDONLY)
        promise = Gst.Promise.new_with_change_func(self.offered)
        publisher.emit("create-offer", None, promise)

    def offered(self, promise):
        # Kept until it is used: the offer lives in it.
        reply = promise.get_reply()
        offer = reply.get_value("offer")
        self.publisher.emit("set-local-description", offer, Gst.Promise.new())

    def gathered(self, publisher, _):
        if publisher.get_property("ice-gathering-state") == GstWebRTC.WebRTCICEGatheringState.COMPLETE:
            GLib.idle_add(self.post)

    def post(self):
        if self.at is not None:
            return False
        offer = self.publisher.get_property("local-description").sdp.as_text()
        status, self.at, answer = request("POST", self.url, self.key, offer)
        print("published", status, self.at, flush=True)
        _, sdp = GstSdp.SDPMessage.new_from_text(answer)
        answer = GstWebRTC.WebRTCSessionDescription.new(GstWebRTC.WebRTCSDPType.ANSWER, sdp)
        self.publisher.emit("set-remote-description", answer, Gst.Promise.new())
        GLib.timeout_add(int(self.seconds * 1000), self.end)
        return False

    def end(self):
        status, _, _ = request("DELETE", urljoin(self.url, self.at), self.key)
        print("ended", status, flush=True)
        self.loop.quit()
        return False

    def run(self):
        self.pipeline.set_state(Gst.State.PLAYING)
        self.loop.run()
        self.pipeline.set_state(Gst.State.NULL)


Gst.init(None)
Publisher(sys.argv[1], sys.argv[2], float(sys.argv[3])).run()
