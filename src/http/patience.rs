//! A connection whose other side has to take what it is sent: where nothing of it
//! is taken for too long, the connection is over. Whoever reads slowly is waited
//! for, however long all of it takes.
//!
//! Below TLS, so that what counts is bytes the network has taken. Not here: how
//! long a request may take to arrive (`serve` and `asked` say).

use std::{
    io,
    pin::Pin,
    task::{Context, Poll, ready},
    time::Duration,
};

use tokio::{
    io::{AsyncRead, AsyncWrite, ReadBuf},
    time::{Instant, Sleep, sleep_until},
};

/// See the module.
pub(super) struct Patient<I> {
    inner: I,
    within: Duration,
    /// Set while something waits to be taken.
    until: Option<Pin<Box<Sleep>>>,
}

impl<I> Patient<I> {
    /// Gives the other side so long to take the next of what waits for it.
    pub(super) const fn new(inner: I, within: Duration) -> Self {
        Self {
            inner,
            within,
            until: None,
        }
    }

    /// What came of a try to write: nothing, once there was nothing for too long.
    fn judge<T>(
        &mut self,
        cx: &mut Context<'_>,
        tried: Poll<io::Result<T>>,
    ) -> Poll<io::Result<T>> {
        if tried.is_ready() {
            self.until = None;
            return tried;
        }
        let within = self.within;
        let until = self
            .until
            .get_or_insert_with(|| Box::pin(sleep_until(Instant::now() + within)));
        ready!(until.as_mut().poll(cx));
        Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
    }
}

impl<I: AsyncRead + Unpin> AsyncRead for Patient<I> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_read(cx, into)
    }
}

impl<I: AsyncWrite + Unpin> AsyncWrite for Patient<I> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let tried = Pin::new(&mut self.inner).poll_write(cx, bytes);
        self.judge(cx, tried)
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let tried = Pin::new(&mut self.inner).poll_flush(cx);
        self.judge(cx, tried)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let tried = Pin::new(&mut self.inner).poll_shutdown(cx);
        self.judge(cx, tried)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let tried = Pin::new(&mut self.inner).poll_write_vectored(cx, bytes);
        self.judge(cx, tried)
    }

    fn is_write_vectored(&self) -> bool {
        self.inner.is_write_vectored()
    }
}

#[cfg(test)]
mod tests {
    use tokio::{
        io::{AsyncReadExt, AsyncWriteExt, duplex},
        time::{sleep, timeout},
    };

    use super::*;

    const WITHIN: Duration = Duration::from_secs(30);

    #[tokio::test(start_paused = true)]
    async fn whoever_takes_nothing_is_waited_for_so_long_and_no_longer() {
        let (here, _there) = duplex(1_000);
        let mut patient = Patient::new(here, WITHIN);
        let began = Instant::now();
        let written = timeout(WITHIN * 2, patient.write_all(&[0; 2_000])).await;
        let error = written.expect("it is over").unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        // The clock of this test moves by nothing but what is waited for.
        let waited = began.elapsed();
        assert!((WITHIN..WITHIN + Duration::from_secs(1)).contains(&waited));
    }

    #[tokio::test(start_paused = true)]
    async fn whoever_takes_a_little_now_and_then_gets_everything() {
        let (here, mut there) = duplex(1_000);
        let mut patient = Patient::new(here, WITHIN);
        let began = Instant::now();
        let reader = tokio::spawn(async move {
            let (mut taken, mut some) = (0, [0; 100]);
            loop {
                sleep(WITHIN / 2).await;
                match there.read(&mut some).await.unwrap() {
                    0 => return taken,
                    bytes => taken += bytes,
                }
            }
        });
        patient.write_all(&vec![0; 20_000]).await.unwrap();
        patient.shutdown().await.unwrap();
        drop(patient);
        assert_eq!(reader.await.unwrap(), 20_000);
        assert!(began.elapsed() > WITHIN * 50);
    }
}
