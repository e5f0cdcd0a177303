//! Rows of the vault's pages in the table of routes: the teacher's alone. There
//! is no vault here, and the pages say so.

use super::{
    METHODS,
    table::{READ, Row},
};

const POST: Option<&[&str]> = Some(&["POST"]);

pub(super) const TABLE: &[Row] = &[
    ("/roster", READ, [200, 403, 403, 403, 401]),
    ("/roster", POST, [200, 403, 403, 403, 401]),
    ("/roster", None, [405; 5]),
    ("/roster/import", READ, [200, 403, 403, 403, 401]),
    ("/roster/import", POST, [200, 403, 403, 403, 401]),
    ("/roster/import", None, [405; 5]),
    ("/roster/letter", READ, [200, 403, 403, 403, 401]),
    ("/roster/letter", POST, [200, 403, 403, 403, 401]),
    ("/roster/letter", None, [405; 5]),
    ("/roster/vault", READ, [200, 403, 403, 403, 401]),
    ("/roster/vault", POST, [200, 403, 403, 403, 401]),
    ("/roster/vault", None, [405; 5]),
    (
        "/roster/classes/0123456789abcdef",
        READ,
        [200, 403, 403, 403, 401],
    ),
    ("/roster/classes", Some(&METHODS), [404; 5]),
    (
        "/roster/children/0123456789abcdef",
        READ,
        [200, 403, 403, 403, 401],
    ),
    ("/roster/children/1/2", Some(&METHODS), [404; 5]),
];
