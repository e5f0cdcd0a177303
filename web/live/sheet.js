/**
 * What a sheet comes to on the page: which parts it has in which view, and the
 * words for the time that is left.
 *
 * Not here: drawing them, or finding room for them (fit.js).
 */

/**
 * @typedef {import('./wire').Sheet} Sheet
 * @typedef {import('./wire').Shown} Shown
 *
 * @typedef {object} Parts
 * @property {'bare' | 'picture' | 'text'} view
 * @property {'dark' | 'bright'} look
 * @property {string} task
 * @property {string} cue
 * @property {Shown | null} drawn what shows the cue
 * @property {boolean} board the choices are what there is to see, each with its figure
 * @property {Shown[]} choices levels and other ways, each like the next
 * @property {number} ways how many of them are other ways; they stand last
 * @property {string[]} reminders
 */

/**
 * @param {Sheet | null} sheet
 * @returns {Parts}
 */
export function partsOf(sheet) {
  const task = sheet === null ? null : sheet.task;
  const look = sheet === null ? 'dark' : sheet.look;
  if (sheet === null || task === null) {
    return { view: 'bare', look: look, task: '', cue: '', drawn: null, board: false, choices: [], ways: 0, reminders: [] };
  }
  const cue = task.cue;
  const choices = task.levels.concat(task.other_ways);
  return {
    view: sheet.view,
    look: look,
    task: task.task,
    cue: cue === null ? '' : cue.text,
    drawn: cue,
    board: task.board && choices.length > 1,
    // One is no choice.
    choices: choices.length > 1 ? choices : [],
    ways: choices.length > 1 ? task.other_ways.length : 0,
    reminders: task.reminders,
  };
}

/**
 * The places of the choices in the order in which they get room: a level, another
 * way, a level, and so on, so that neither kind is what is left over.
 * @param {number} count of all
 * @param {number} ways of them, at the end
 * @returns {number[]} from 1
 */
export function inTurns(count, ways) {
  const places = [];
  const levels = count - ways;
  for (let i = 0; i < Math.max(levels, ways); i += 1) {
    if (i < levels) {
      places.push(i + 1);
    }
    if (i < ways) {
      places.push(levels + i + 1);
    }
  }
  return places;
}

/**
 * Names of the parts of the text view that have words, beside the cue, the most
 * important first: the task, how the class stands, what may be chosen from,
 * reminders; last how late the picture is. The first two choices come or go as
 * one, `choices`: one alone is none. On a board all are there, and their words
 * may go.
 * @param {Parts} parts
 * @param {boolean} inClass there is something to say of the class
 * @returns {string[]}
 */
export function mostFirst(parts, inClass) {
  // Without a cue the task is what has to be seen, and never goes.
  let most = parts.cue === '' || parts.task === '' ? [] : ['task'];
  if (inClass) {
    most.push('class');
  }
  if (parts.board) {
    most.push('titles');
  } else if (parts.choices.length > 0) {
    const more = inTurns(parts.choices.length, parts.ways).slice(2);
    most = most.concat('choices', more.map(function (place) { return 'choice-' + place; }));
  }
  const reminders = parts.reminders.map(function (_, i) { return 'reminder-' + (i + 1); });
  return most.concat(reminders.slice(0, 1), ['left'], reminders.slice(1), ['late']);
}

/**
 * How much of a turn is left, 1 to 0; nothing while none runs.
 * @param {import('./wire').Turn | null} turn
 * @param {number | null} nowUs
 * @returns {number | null}
 */
export function leftOf(turn, nowUs) {
  if (turn === null || nowUs === null || turn.ends_us <= turn.began_us) {
    return null;
  }
  return Math.min(1, Math.max(0, (turn.ends_us - nowUs) / (turn.ends_us - turn.began_us)));
}

/**
 * What is left in few words: whole minutes, then tens of seconds. A number that
 * changes every second would draw every eye.
 * @param {import('./wire').Turn} turn
 * @param {number} nowUs
 * @returns {{minutes: number} | {seconds: number}}
 */
export function leftInWords(turn, nowUs) {
  const s = Math.max(0, (turn.ends_us - nowUs) / 1000000);
  return s > 60 ? { minutes: Math.ceil(s / 60) } : { seconds: Math.ceil(s / 10) * 10 };
}

/**
 * The part of a disc that is left, as an SVG path in a box of 100: it shrinks
 * as a clock's hand goes round, so that what is gone lies behind the hand.
 * @param {number} left 0 to 1
 */
export function slice(left) {
  if (left <= 0) {
    return '';
  }
  if (left >= 1) {
    return 'M50 4A46 46 0 1 1 49.99 4Z';
  }
  const angle = (1 - left) * 2 * Math.PI;
  const x = (50 + 46 * Math.sin(angle)).toFixed(2);
  const y = (50 - 46 * Math.cos(angle)).toFixed(2);
  return 'M50 50L' + x + ' ' + y + 'A46 46 0 ' + (left > 0.5 ? 1 : 0) + ' 1 50 4Z';
}
