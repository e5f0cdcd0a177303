//! How many connections there may be: in all, of one device, and of one network
//! whose devices give themselves as many addresses as they like (IPv6, by /64), so
//! that neither can take every place.
//!
//! Not here: what happens on a connection.

use std::{
    collections::HashMap,
    hash::Hash,
    net::IpAddr,
    sync::{Arc, Mutex, PoisonError},
};

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use crate::door::Peer;

/// The places of one listener.
#[derive(Clone)]
pub(super) struct Places {
    free: Arc<Semaphore>,
    most: Most,
    taken: Arc<Mutex<Taken>>,
}

/// How many places there are.
#[derive(Clone, Copy, Debug)]
pub(super) struct Most {
    pub(super) in_all: usize,
    pub(super) of_network: usize,
    pub(super) of_device: usize,
}

/// How many each has, and whether it was refused one since.
#[derive(Default)]
struct Taken {
    by_device: HashMap<IpAddr, (usize, bool)>,
    by_network: HashMap<Peer, (usize, bool)>,
}

/// A place that is taken, until it is dropped.
pub(super) struct Place {
    _permit: OwnedSemaphorePermit,
    taken: Arc<Mutex<Taken>>,
    device: IpAddr,
}

/// Why there is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Full {
    /// All are taken.
    All,
    /// This device, or its network, has all that one may have; `first` the first
    /// time it is told so.
    OfOne { first: bool },
}

impl Places {
    pub(super) fn new(most: Most) -> Self {
        Self {
            free: Arc::new(Semaphore::new(most.in_all)),
            most,
            taken: Arc::default(),
        }
    }

    pub(super) fn take(&self, device: IpAddr) -> Result<Place, Full> {
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        let taken = &mut *taken;
        let network = Peer::of(device);
        has_room(&mut taken.by_device, &device, self.most.of_device)?;
        has_room(&mut taken.by_network, &network, self.most.of_network)?;
        let permit = Arc::clone(&self.free).try_acquire_owned();
        let permit = permit.map_err(|_| Full::All)?;
        taken.by_device.entry(device).or_default().0 += 1;
        taken.by_network.entry(network).or_default().0 += 1;
        Ok(Place {
            _permit: permit,
            taken: Arc::clone(&self.taken),
            device,
        })
    }
}

fn has_room<K: Eq + Hash>(
    taken: &mut HashMap<K, (usize, bool)>,
    whose: &K,
    most: usize,
) -> Result<(), Full> {
    match taken.get_mut(whose) {
        Some((count, refused)) if *count >= most => {
            let first = !std::mem::replace(refused, true);
            Err(Full::OfOne { first })
        }
        _ => Ok(()),
    }
}

fn give_back<K: Eq + Hash>(taken: &mut HashMap<K, (usize, bool)>, whose: &K) {
    if let Some((count, _)) = taken.get_mut(whose) {
        *count -= 1;
        if *count == 0 {
            taken.remove(whose);
        }
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        give_back(&mut taken.by_device, &self.device);
        give_back(&mut taken.by_network, &Peer::of(self.device));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(in_all: usize, of_network: usize, of_device: usize) -> Places {
        Places::new(Most {
            in_all,
            of_network,
            of_device,
        })
    }

    fn none_taken(places: &Places) -> bool {
        let taken = places.taken.lock().unwrap();
        taken.by_device.is_empty() && taken.by_network.is_empty()
    }

    #[test]
    fn one_device_leaves_room_for_others() {
        let places = places(5, 2, 2);
        let [a, b, c] = [1, 2, 3].map(|n| IpAddr::from([10, 0, 0, n]));
        let held = [places.take(a), places.take(a)].map(|place| place.ok().unwrap());
        assert_eq!(places.take(a).err(), Some(Full::OfOne { first: true }));
        assert_eq!(places.take(a).err(), Some(Full::OfOne { first: false }));
        let others = [b, b, c].map(|peer| places.take(peer).ok().unwrap());
        assert_eq!(places.take(c).err(), Some(Full::All));
        drop(others);
        drop(held);
        assert!(none_taken(&places), "nothing piles up");
        assert!(places.take(a).is_ok());
    }

    #[test]
    fn a_device_with_many_addresses_of_one_network_leaves_room_for_others() {
        let places = places(40, 20, 4);
        let six = |n: u16| IpAddr::from([0xfd00, 0, 0, 1, 0, 0, 0, n]);
        let held: Vec<_> = (0..400).filter_map(|n| places.take(six(n)).ok()).collect();
        assert!(places.take(IpAddr::from([10, 0, 0, 1])).is_ok());
        assert!(
            places
                .take(IpAddr::from([0xfd00, 0, 0, 2, 0, 0, 0, 1]))
                .is_ok()
        );
        assert_eq!(held.len(), 20);
        drop(held);
        assert!(none_taken(&places), "nothing piles up");
    }

    #[test]
    fn one_device_of_a_network_leaves_room_for_the_others_there() {
        let places = places(40, 20, 4);
        let six = |n: u16| IpAddr::from([0xfd00, 0, 0, 1, 0, 0, 0, n]);
        let held: Vec<_> = (0..9).filter_map(|_| places.take(six(1)).ok()).collect();
        assert_eq!(held.len(), 4);
        assert!(places.take(six(2)).is_ok());
    }
}
