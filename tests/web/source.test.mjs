// The buffer's line of appends, over a SourceBuffer of ours: web/live/source.js.
import test from 'node:test';
import assert from 'node:assert/strict';

// Node's own know nothing of media.
URL.createObjectURL = () => 'blob:';

/** Does what it is told at once, and says so when {@link FakeBuffer#end} is called. */
class FakeBuffer extends EventTarget {
  constructor() {
    super();
    this.updating = false;
    this.appended = [];
    this.types = [];
  }

  appendBuffer(bytes) {
    this.updating = true;
    this.appended.push(...new Uint8Array(bytes));
  }

  end() {
    this.updating = false;
    this.dispatchEvent(new Event('updateend'));
  }
}

class FakeChangeable extends FakeBuffer {
  changeType(mime) {
    assert.equal(this.updating, false, 'only between two appends');
    this.types.push(mime);
  }
}

/** A source whose first run has begun, and everything it built and said. */
async function source(Buffer) {
  const built = [];
  class FakeMedia extends EventTarget {
    addSourceBuffer() {
      this.buffer = new Buffer();
      return this.buffer;
    }
  }
  globalThis.window = {
    MediaSource: class extends FakeMedia {
      constructor() {
        super();
        built.push(this);
      }
    },
  };
  const broken = [];
  const { Source } = await import('../../web/live/source.js');
  const one = new Source({ setAttribute() {} }, {
    moved() {}, ready() {}, safeToUs: () => null, broken: (why) => broken.push(why),
  });
  one.run('a');
  built[0].dispatchEvent(new Event('sourceopen'));
  return { one, built, broken, buffer: built[0].buffer };
}

const bytes = (...all) => new Uint8Array(all).buffer;

for (const [what, Buffer, types] of [
  ['and is told the new type where it can be', FakeChangeable, ['b']],
  ['and goes on where it cannot be told', FakeBuffer, []],
]) {
  test(`a run of another type goes into the same buffer, ${what}`, async () => {
    const { one, built, broken, buffer } = await source(Buffer);
    one.append(bytes(1));
    one.append(bytes(2));
    one.run('b');
    one.append(bytes(3));
    assert.deepEqual(buffer.appended, [1]);
    buffer.end();
    assert.deepEqual([buffer.appended, buffer.types], [[1, 2], []], 'nothing of the new run before the old is in');
    buffer.end();
    assert.deepEqual([buffer.appended, buffer.types], [[1, 2, 3], types]);
    assert.deepEqual(broken, []);
    assert.equal(built.length, 1);
  });
}

test('a buffer that refuses is built anew', async () => {
  const { built, buffer, broken } = await source(FakeBuffer);
  buffer.dispatchEvent(new Event('error'));
  assert.deepEqual(broken, ['SourceBuffer error']);
  await new Promise((resolve) => { setTimeout(resolve, 0); });
  assert.equal(built.length, 2);
});
