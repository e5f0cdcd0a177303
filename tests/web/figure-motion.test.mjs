// The figures: bodies that stay bodies at every moment, and lists that agree.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { figures, names } from '../../web/figures/all.js';
import { FADE_MS, moment, period, pose, still, stillAt } from '../../web/figures/motion.js';
import { outline, paths } from '../../web/figures/draw.js';
import { armTo, BONES, HALF_LINE, HEAD_RADIUS, legTo, points, RANGES } from '../../web/figures/skeleton.js';

const STEP_MS = 20;
/** What hands and feet may be off their places, in hundredths of the height: less than half a line. */
const PLANTED = 2;

const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** Every moment of every figure: calls back with the figure, the time and what is seen. */
function everywhere(see) {
  for (const id of names) {
    for (let t = 0; t <= period(figures[id]); t += STEP_MS) see(id, t, pose(figures[id], t));
  }
}

test('bones keep their lengths, whatever the figure does', () => {
  const bones = [['hips', 'waist', BONES.spine], ['waist', 'chest', BONES.spine], ['chest', 'neck', BONES.spine], ['neck', 'head', BONES.neck]];
  for (const end of 'NF') {
    bones.push(['shoulder' + end, 'elbow' + end, BONES.upperArm], ['elbow' + end, 'hand' + end, BONES.foreArm],
      ['hip' + end, 'knee' + end, BONES.thigh], ['knee' + end, 'ankle' + end, BONES.shank]);
  }
  everywhere((id, t, { bodies }) => {
    for (const { points: p } of bodies) {
      for (const [a, b, length] of bones) assert.ok(Math.abs(distance(p[a], p[b]) - length) < 1e-6, `${id} at ${t}: ${a} to ${b}`);
    }
  });
});

test('a child has a head of about a sixth, and stands on its feet', () => {
  const { points: p } = still(figures.stand).bodies[0];
  const height = p.head[1] + HEAD_RADIUS;
  assert.ok(Math.abs(height - 98) < 3, String(height));
  assert.ok(height / (2 * HEAD_RADIUS) > 5.5 && height / (2 * HEAD_RADIUS) < 6.5);
  assert.ok(2 * HALF_LINE / height > 0.05 && 2 * HALF_LINE / height < 0.07);
});

// The ranges are from memory; skeleton.js says so.
test('no joint goes where a supple child\'s does not', () => {
  const wrong = new Set();
  everywhere((id, t, { bodies }) => {
    for (const { stance, view } of bodies) {
      const within = (name, joint, angle) => {
        const [least, most] = RANGES[view][joint];
        if (!(angle >= least - 1 && angle <= most + 1)) wrong.add(`${id}: ${name}${joint} ${Math.round(angle)}`);
      };
      within('', 'curl', stance.curl);
      within('', 'neck', stance.neck);
      for (const limb of ['aN', 'aF', 'lN', 'lF']) for (const joint of Object.keys(stance[limb])) within(limb, joint, stance[limb][joint]);
    }
  });
  assert.deepEqual([...wrong], []);
});

test('hands and feet stay where they are planted', () => {
  let planted = 0;
  everywhere((id, t, { bodies }) => {
    bodies.forEach((body, i) => {
      const figure = figures[id];
      const { from, to, f } = moment(figure, figure.bodies[i], t % (period(figure) || 1));
      const [a, b] = [from, to].map((n) => figure.bodies[i].keys[n]);
      for (const [limb, part] of [['aN', 'handN'], ['aF', 'handF'], ['lN', 'toeN'], ['lF', 'toeF']]) {
        const [before, after] = [a, b].map((key) => key[limb] || key[limb.charAt(0)]);
        const where = (held) => (held && !Array.isArray(held) ? held.toe || held.at : null);
        const [p, q] = [where(before), where(after)];
        if (!p || !q) continue;
        planted += 1;
        const place = [p[0] + (q[0] - p[0]) * f, p[1] + (q[1] - p[1]) * f];
        assert.ok(distance(body.points[part], place) < PLANTED, `${id} at ${t}: ${part} is ${distance(body.points[part], place).toFixed(1)} off`);
      }
    });
  });
  assert.ok(planted > 1000, String(planted));
});

test('who walks has something planted at every moment, and slides on nothing', () => {
  const walkers = { 'beam-step': 16, 'beam-back': 16, 'walk-this-way': 0, 'bear-walk': 0, 'crab-walk': 0 };
  for (const [id, surface] of Object.entries(walkers)) {
    for (let t = STEP_MS; t < period(figures[id]); t += STEP_MS) {
      const [was, is] = [t - STEP_MS, t].map((at) => pose(figures[id], at).bodies[0].points);
      const limbs = id.startsWith('bear') || id.startsWith('crab') ? ['toeN', 'toeF', 'handN', 'handF'] : ['toeN', 'toeF'];
      const down = limbs.filter((part) => was[part][1] < surface + HALF_LINE + 0.05 && is[part][1] < surface + HALF_LINE + 0.05);
      assert.ok(down.length >= limbs.length / 2, `${id} at ${t}: ${down}`);
      for (const part of down) assert.ok(distance(was[part], is[part]) < 0.3, `${id} at ${t}: ${part} slides`);
    }
  }
});

test('nothing sinks into the floor', () => {
  const sunk = new Set();
  everywhere((id, t, { bodies }) => {
    for (const { points: p } of bodies) {
      for (const name of Object.keys(p)) {
        const low = p[name][1] - (name === 'head' ? HEAD_RADIUS : HALF_LINE);
        if (low < -1.2) sunk.add(`${id}: ${name} ${low.toFixed(1)}`);
      }
    }
  });
  assert.deepEqual([...sunk], []);
});

test('a figure stays within its picture, moving and still', () => {
  const outside = new Set();
  const check = (id, bodies, box, which) => {
    for (const { points: p, at, face } of bodies) {
      for (const name of Object.keys(p)) {
        const r = name === 'head' ? HEAD_RADIUS : HALF_LINE;
        const x = at + face * p[name][0];
        const y = p[name][1];
        if (x - r < box[0] || x + r > box[0] + box[2] || y - r < box[1] || y + r > box[1] + box[3]) outside.add(`${id} ${which}: ${name}`);
      }
    }
  };
  everywhere((id, t, { bodies }) => check(id, bodies, figures[id].box, 'moving'));
  for (const id of names) check(id, still(figures[id]).bodies, figures[id].near || figures[id].box, 'still');
  assert.deepEqual([...outside], []);
});

test('a loop has no seam, and nothing jumps or flashes', () => {
  for (const id of names) {
    const figure = figures[id];
    const whole = period(figure);
    if (figure.loop === 'none') continue;
    let fades = 0;
    for (let t = 0; t < whole + STEP_MS; t += 5) {
      const [was, is] = [pose(figure, t), pose(figure, t + 5)];
      if (was.shown > 0 && is.shown === 0) fades += 1;
      // 0.05 heights in 5 ms would be ten heights a second: no child is that fast.
      const seen = Math.min(was.shown, is.shown);
      assert.ok(Math.abs(is.shown - was.shown) <= 5 / FADE_MS + 1e-9, `${id} at ${t}: fades too fast`);
      if (seen < 0.02) continue;
      is.bodies.forEach((body, i) => {
        for (const name of Object.keys(body.points)) {
          assert.ok(distance(body.points[name], was.bodies[i].points[name]) < 5, `${id} at ${t}: ${name} jumps`);
        }
      });
    }
    // WCAG 2.2, 2.3.1: no more than three flashes in a second.
    assert.ok(whole >= 1000 && fades <= 1, `${id}: ${fades} fades in ${whole} ms`);
  }
});

test('the bodies of one figure keep time with each other', () => {
  for (const id of names) {
    const times = figures[id].bodies.map(({ keys }) => keys.map(({ hold, ms }) => [hold || 0, ms || 0]));
    for (const one of times) assert.deepEqual(one, times[0], id);
    assert.ok(figures[id].bodies[0].keys[figures[id].still], id);
  }
});

test('the still pose is a moment of the figure', () => {
  for (const id of names) {
    const [one, other] = [still(figures[id]), pose(figures[id], stillAt(figures[id]))];
    other.bodies.forEach((body, i) => assert.ok(distance(body.points.head, one.bodies[i].points.head) < 0.5, id));
  }
});

test('what is drawn has no number that is none', () => {
  everywhere((id, t, { bodies }) => {
    for (const body of bodies) for (const d of Object.values(paths(body))) assert.doesNotMatch(d, /NaN|undefined|Infinity/, `${id} at ${t}`);
  });
  for (const id of names) for (const prop of figures[id].props || []) assert.doesNotMatch(outline(prop).d, /NaN|undefined/, id);
});

test('a hand or a foot within reach gets where it is sent', () => {
  const stance = { x: 0, y: 45, lean: 10, curl: 0, neck: 0, turn: 0, aN: { s: 0, e: 0 }, aF: { s: 0, e: 0 }, lN: { h: 0, k: 0, a: 0 }, lF: { h: 0, k: 0, a: 0 } };
  for (const view of ['side', 'front']) {
    for (const end of 'NF') {
      const way = view === 'front' && end === 'F' ? -1 : 1;
      stance['a' + end] = armTo(stance, view, 'a' + end, [way * 24, 66]);
      stance['l' + end] = legTo(stance, view, 'l' + end, [way * 20, 10], 90);
      const p = points(stance, view);
      assert.ok(distance(p['hand' + end], [way * 24, 66]) < 1e-6 && distance(p['toe' + end], [way * 20, 10]) < 1e-6, view + end);
      assert.ok(stance['a' + end].e > 0 && stance['l' + end].k > 0);
    }
  }
});

test('names.txt has the ids of the scripts, in their order', () => {
  const file = readFileSync(new URL('../../web/figures/names.txt', import.meta.url), 'utf8');
  assert.equal(file, names.join('\n') + '\n');
});
