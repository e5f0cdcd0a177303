"""A publisher that is no browser and none of ours: aiortc, over WHIP (RFC 9725).

    python aiortc_publisher.py URL KEY SECONDS

Posts an offer with one H.264 video, sends a drawn picture 30 times a second, and
deletes what it was given. Prints what it did, a line each; expects nothing.
"""

import asyncio
import fractions
import re
import sys
import time
from urllib.parse import urljoin

import numpy
from aiortc import RTCPeerConnection, RTCRtpSender, RTCSessionDescription, VideoStreamTrack
from av import VideoFrame

from whip import request


class Hall(VideoStreamTrack):
    """A grey hall, and somebody who crosses it."""

    def __init__(self):
        super().__init__()
        self.number = 0
        self.began = time.time()

    async def recv(self):
        wait = self.began + self.number / 30 - time.time()
        await asyncio.sleep(max(wait, 0))
        picture = numpy.full((480, 640, 3), 90, dtype=numpy.uint8)
        x = self.number * 4 % 600
        picture[150:350, x:x + 40] = 220
        frame = VideoFrame.from_ndarray(picture, format="bgr24")
        frame.pts, frame.time_base = self.number * 3000, fractions.Fraction(1, 90000)
        self.number += 1
        return frame


async def main(url, key, seconds):
    connection = RTCPeerConnection()
    transceiver = connection.addTransceiver(Hall(), direction="sendonly")
    codecs = RTCRtpSender.getCapabilities("video").codecs
    transceiver.setCodecPreferences([one for one in codecs if re.fullmatch("video/h264", one.mimeType, re.I)])
    await connection.setLocalDescription(await connection.createOffer())
    status, at, answer = await asyncio.to_thread(request, "POST", url, key, connection.localDescription.sdp)
    print("published", status, at, flush=True)
    await connection.setRemoteDescription(RTCSessionDescription(answer, "answer"))
    await asyncio.sleep(seconds)
    status, _, _ = await asyncio.to_thread(request, "DELETE", urljoin(url, at), key)
    print("ended", status, flush=True)
    await connection.close()


asyncio.run(main(sys.argv[1], sys.argv[2], float(sys.argv[3])))
