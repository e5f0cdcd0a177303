//! What a guess at a secret costs, wherever a secret is kept: the door and the
//! vault have the same passphrase, and the cheaper of two hashes is the one that
//! a thief of the disk would try.
//!
//! Not here: hashing.

/// The memory Argon2id fills. RFC 9106 §4, second recommended option (64 MiB,
/// three passes), with one lane instead of four, since the box has other things
/// to do.
pub const HASH_MEMORY_KIB: u32 = 64 * 1024;

/// How often it passes over that.
pub const HASH_PASSES: u32 = 3;
