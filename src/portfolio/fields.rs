//! A few short texts as one run of bytes, to be sealed together.

use afterturn_core::kernel::Name;
use zeroize::Zeroizing;

use super::{DoesNotOpen, VaultError};

/// Writes fields; none is empty.
pub(super) fn write(fields: &[Option<&Name>]) -> Zeroizing<Vec<u8>> {
    let mut out = Zeroizing::new(Vec::new());
    for field in fields {
        let bytes = field.map_or(&[][..], Name::for_seal);
        out.extend((bytes.len() as u16).to_be_bytes());
        out.extend_from_slice(bytes);
    }
    out
}

/// Reads as many fields as were written.
pub(super) fn read<const N: usize>(mut bytes: &[u8]) -> Result<[Option<Name>; N], VaultError> {
    let mut out = [const { None }; N];
    for field in &mut out {
        let (length, rest) = bytes.split_first_chunk::<2>().ok_or(DoesNotOpen)?;
        let length = usize::from(u16::from_be_bytes(*length));
        let (text, rest) = rest.split_at_checked(length).ok_or(DoesNotOpen)?;
        bytes = rest;
        if length > 0 {
            let text = std::str::from_utf8(text).map_err(|_| DoesNotOpen)?;
            *field = Some(Name::new(text).map_err(|_| DoesNotOpen)?);
        }
    }
    Ok(out)
}
