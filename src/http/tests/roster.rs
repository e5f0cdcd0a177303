//! Rows of the vault's pages in the table of routes: the teacher's alone. There
//! is no vault here, and the pages say so.

use super::{
    METHODS,
    table::{READ, Row},
};

const POST: Option<&[&str]> = Some(&["POST"]);

/// The teacher, and nobody else.
const TEACHER: [u16; 5] = [200, 403, 403, 403, 401];

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
    ("/roster/kept", READ, TEACHER),
    ("/roster/kept", POST, TEACHER),
    ("/roster/kept", None, [405; 5]),
    ("/roster/log", READ, TEACHER),
    ("/roster/log", POST, TEACHER),
    ("/roster/log", None, [405; 5]),
    ("/roster/export", READ, TEACHER),
    ("/roster/export", POST, TEACHER),
    ("/roster/export", None, [405; 5]),
    ("/roster/kept/0123456789abcdef", READ, TEACHER),
    ("/roster/kept/0123456789abcdef", POST, TEACHER),
    ("/roster/kept/0123456789abcdef", None, [405; 5]),
    ("/roster/kept/0123456789abcdef/file", READ, TEACHER),
    ("/roster/kept/0123456789abcdef/file", POST, TEACHER),
    ("/roster/kept/0123456789abcdef/file", None, [405; 5]),
    ("/roster/keep/1", READ, TEACHER),
    ("/roster/keep/1", POST, TEACHER),
    ("/roster/keep/1", None, [405; 5]),
    ("/roster/made/0123456789abcdef", READ, TEACHER),
    ("/roster/made/0123456789abcdef", POST, TEACHER),
    ("/roster/made/0123456789abcdef", None, [405; 5]),
    ("/roster/mat/1", READ, TEACHER),
    ("/roster/mat/1", POST, TEACHER),
    ("/roster/mat/1", None, [405; 5]),
    ("/roster/mat/1/picture", READ, TEACHER),
    ("/roster/mat/1/picture", POST, TEACHER),
    ("/roster/mat/1/picture", None, [405; 5]),
    ("/roster/export/0123456789abcdef", READ, TEACHER),
    ("/roster/export/0123456789abcdef", POST, TEACHER),
    ("/roster/export/0123456789abcdef", None, [405; 5]),
    ("/roster/sheet/0123456789abcdef", READ, TEACHER),
    ("/roster/sheet/0123456789abcdef", POST, TEACHER),
    ("/roster/sheet/0123456789abcdef", None, [405; 5]),
    ("/roster/keep", Some(&METHODS), [404; 5]),
    ("/roster/mat/1/2", Some(&METHODS), [404; 5]),
];
