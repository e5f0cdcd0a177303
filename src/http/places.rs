//! How many connections there may be: in all, and of one device, so that one
//! device cannot take every place.
//!
//! Not here: what happens on a connection.

use std::{
    collections::HashMap,
    net::IpAddr,
    sync::{Arc, Mutex, PoisonError},
};

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// The places of one listener.
#[derive(Clone)]
pub(super) struct Places {
    free: Arc<Semaphore>,
    most_of_one: usize,
    taken: Taken,
}

/// By device: how many it has, and whether it was refused one since.
type Taken = Arc<Mutex<HashMap<IpAddr, (usize, bool)>>>;

/// A place that is taken, until it is dropped.
pub(super) struct Place {
    _permit: OwnedSemaphorePermit,
    taken: Taken,
    peer: IpAddr,
}

/// Why there is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Full {
    /// All are taken.
    All,
    /// This device has all that one may have; `first` the first time it is
    /// told so.
    OfOne { first: bool },
}

impl Places {
    pub(super) fn new(most: usize, most_of_one: usize) -> Self {
        Self {
            free: Arc::new(Semaphore::new(most)),
            most_of_one,
            taken: Arc::default(),
        }
    }

    pub(super) fn take(&self, peer: IpAddr) -> Result<Place, Full> {
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        let (count, refused) = taken.get(&peer).copied().unwrap_or_default();
        if count >= self.most_of_one {
            taken.insert(peer, (count, true));
            return Err(Full::OfOne { first: !refused });
        }
        let permit = Arc::clone(&self.free).try_acquire_owned();
        let permit = permit.map_err(|_| Full::All)?;
        taken.insert(peer, (count + 1, refused));
        Ok(Place {
            _permit: permit,
            taken: Arc::clone(&self.taken),
            peer,
        })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((count, _)) = taken.get_mut(&self.peer) {
            *count -= 1;
            if *count == 0 {
                taken.remove(&self.peer);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_device_leaves_room_for_others() {
        let places = Places::new(5, 2);
        let [a, b, c] = [1, 2, 3].map(|n| IpAddr::from([10, 0, 0, n]));
        let held = [places.take(a), places.take(a)].map(|place| place.ok().unwrap());
        assert_eq!(places.take(a).err(), Some(Full::OfOne { first: true }));
        assert_eq!(places.take(a).err(), Some(Full::OfOne { first: false }));
        let others = [b, b, c].map(|peer| places.take(peer).ok().unwrap());
        assert_eq!(places.take(c).err(), Some(Full::All));
        drop(others);
        drop(held);
        assert!(places.taken.lock().unwrap().is_empty(), "nothing piles up");
        assert!(places.take(a).is_ok());
    }
}
