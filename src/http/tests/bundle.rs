use super::*;

/// The script made of these files, from `live/tv.js` on.
fn made_of(files: &[(&str, &str)]) -> Result<String, BundleError> {
    let read = |path: &str| {
        let file = files.iter().find(|(name, _)| *name == path);
        file.map(|(_, text)| (*text).to_owned())
    };
    bundle("live/tv.js", &read)
}

#[test]
fn each_module_stands_once_and_before_who_needs_it() {
    let made = made_of(&[
        (
            "live/tv.js",
            "import { now as clock, a$1 } from './clock.js';\nimport {\n  draw,\n} from '../figures/draw.js';\ndraw(clock(a$1));\n",
        ),
        (
            "live/clock.js",
            "/** Time. */\nexport const a$1 = 1;\nexport function now(x) { return x; }\n",
        ),
        (
            "figures/draw.js",
            "import { now } from '../live/clock.js';\nexport async function draw(x) { return now(x); }\nexport class Pen {}\nconst own = 2;\nexport { own, now };\n",
        ),
    ]);
    let expected = "\
const module_0 = (() => { // live/clock.js
/** Time. */
const a$1 = 1;
function now(x) { return x; }
return { a$1, now };
})();
const module_1 = (() => { // figures/draw.js
const { now } = module_0;
async function draw(x) { return now(x); }
class Pen {}
const own = 2;
return { draw, Pen, own, now };
})();
const module_2 = (() => { // live/tv.js
const { now: clock, a$1 } = module_0;
const {  draw,} = module_1;
draw(clock(a$1));
return {  };
})();
";
    assert_eq!(made.as_deref(), Ok(expected));
}

#[test]
fn any_other_way_of_writing_a_module_is_refused_with_its_place() {
    for statement in [
        "import thing from './x.js';",
        "import * as all from './x.js';",
        "import './x.js';",
        "export default 4;",
        "export * from './x.js';",
        "export { a as b };",
        "export let changes = 1;",
        "export const { a, b } = both;",
        "import { a } from './x.js'",
    ] {
        let source = format!("// First.\n{statement}\n");
        let made = made_of(&[("live/tv.js", &source), ("live/x.js", "")]);
        let expected = BundleError::Form {
            path: "live/tv.js".to_owned(),
            line: 2,
        };
        assert_eq!(made, Err(expected), "{statement}");
    }
}

#[test]
fn what_is_not_there_and_what_goes_in_a_circle_is_named() {
    let missing = made_of(&[("live/tv.js", "import { a } from './x.js';")]);
    assert_eq!(missing, Err(BundleError::NoSuch("live/x.js".to_owned())));
    let circle = made_of(&[
        ("live/tv.js", "import { a } from './x.js';"),
        ("live/x.js", "import { b } from './tv.js';"),
    ]);
    assert_eq!(circle, Err(BundleError::Circle("live/tv.js".to_owned())));
    let outside = made_of(&[("live/tv.js", "import { a } from '../../../etc/x.js';")]);
    assert!(matches!(outside, Err(BundleError::Form { line: 1, .. })));
}
