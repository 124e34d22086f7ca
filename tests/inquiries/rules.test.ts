import { expect, test } from 'vitest';
import { type Decided, faultsOfAnswer } from '../../server/inquiries/rules/answering.ts';
import {
  daysOverdue,
  dueOn,
  requireInTime,
  requireWithinWeek,
  usualLimits,
} from '../../server/inquiries/rules/limits.ts';
import { hasUnreleased, releasedAnswers } from '../../server/inquiries/rules/released.ts';
import { seasonCounts } from '../../server/inquiries/rules/season-counts.ts';
import {
  InquiryRefused,
  inquiryStates,
  inquirySteps,
  isOpen,
  stateAfter,
  stepsFrom,
  transitions,
} from '../../server/inquiries/rules/states.ts';
import { clockFrom, type PlainPlay, playAskedAbout } from '../../server/inquiries/rules/which-play.ts';

test('an inquiry is open while the coordinator has something to do but close it', () => {
  const toDo = inquiryStates.filter((state) =>
    stepsFrom(state, 'coordinator').some((step) => step !== 'close'),
  );
  expect(inquiryStates.filter(isOpen)).toEqual(toDo);
});

// The rules themselves are the conference's and ours: common practice, no source. Days are counted by hand from a
// calendar.

const refusal = (work: () => unknown): InquiryRefused => {
  try {
    work();
  } catch (error) {
    if (error instanceof InquiryRefused) return error;
    throw error;
  }
  throw new Error('It was not refused.');
};

test('from each state exactly the steps that its words allow lead on, and every state is reached', () => {
  const reached = new Set(['draft']);
  for (const state of inquiryStates)
    for (const step of inquirySteps)
      if (transitions[step].from.includes(state)) reached.add(stateAfter(state, step));
      else
        expect(refusal(() => stateAfter(state, step)).message).toMatch(
          new RegExp(`^This inquiry is ${state}; only one that is .* can be `),
        );
  expect(reached).toEqual(new Set(inquiryStates));
  expect(stepsFrom('received', 'coordinator')).toEqual(['take up', 'send back']);
  expect(stepsFrom('sent back', 'contact')).toEqual([]);
});

test('an inquiry is reopened once', () => {
  expect(stateAfter('closed', 'reopen', false)).toBe('received');
  expect(refusal(() => stateAfter('answered', 'reopen', true)).message).toContain('reopened once already');
});

test('the window opens at kickoff and closes so many hours later, to the millisecond', () => {
  const kickoff = new Date('2031-09-06T18:00:00Z');
  const ask = (at: string) =>
    requireInTime(kickoff, usualLimits, new Date(at), (moment) => moment.toISOString());
  expect(refusal(() => ask('2031-09-06T17:59:59.999Z')).message).toContain('has not begun');
  ask('2031-09-06T18:00:00.000Z');
  ask('2031-09-09T18:00:00.000Z');
  const late = refusal(() => ask('2031-09-09T18:00:00.001Z'));
  expect([late.field, late.message]).toEqual([
    'gameId',
    'This is too late: inquiries about this game were taken until 2031-09-09T18:00:00.000Z, 72 hours after kickoff. Write to the coordinator.',
  ]);
});

test('a week takes as many as the conference says, and none where it says none', () => {
  requireWithinWeek(2, 4, { aWeek: 3 });
  expect(refusal(() => requireWithinWeek(3, 4, { aWeek: 3 })).message).toContain('3 plays of week 4');
  expect(refusal(() => requireWithinWeek(0, 4, { aWeek: 0 })).message).toContain('takes no inquiries');
});

test('the last day to answer crosses months, leap days and the change of the clock', () => {
  expect(dueOn('2032-02-27', { answerDays: 5 })).toBe('2032-03-03');
  expect(dueOn('2031-10-30', { answerDays: 5 })).toBe('2031-11-04');
  expect(daysOverdue('2031-10-30', '2031-10-30')).toBe(0);
  expect(daysOverdue('2031-10-30', '2031-11-04')).toBe(5);
});

const play = (playId: string, quarter: number, clockSeconds: number | null): PlainPlay => ({
  ...{ playId, quarter, clockSeconds, down: 2, distance: 7, kind: 'run' },
});
const log = [
  play('a', 1, 880),
  play('b', 1, 850),
  play('c', 1, 400),
  play('d', 1, 100),
  play('e', 2, 870),
  play('f', 2, null),
];
const wanted = { playId: null, quarter: 1, clockSeconds: 860, notInLog: false };

test('a play is the one chosen, or the one at its clock; one that is not there is told with the nearest', () => {
  expect(playAskedAbout(log, { ...wanted, playId: 'c' })?.playId).toBe('c');
  expect(playAskedAbout(log, { ...wanted, clockSeconds: 850 })?.playId).toBe('b');
  const missing = refusal(() => playAskedAbout(log, wanted));
  expect([missing.field, missing.message]).toEqual([
    'playId',
    'There is no play at Q1 14:20 in the log of this game; nearest are “Q1 14:10, 2nd and 7, run”, “Q1 14:40, 2nd and 7, run”, and “Q1 6:40, 2nd and 7, run”. Choose one of them, or say that it is none.',
  ]);
  expect(playAskedAbout(log, { ...wanted, notInLog: true })).toBeNull();
  // A quarter of which the log has no clock, or nothing at all, names none; in an empty log nothing can be looked for.
  for (const [quarter, said] of [
    [3, 'Q3'],
    [9, 'overtime 5'],
  ] as const) {
    const beyond = refusal(() => playAskedAbout(log, { ...wanted, quarter }));
    expect([beyond.field, beyond.message]).toEqual([
      'playId',
      `There is no play at ${said} 14:20 in the log of this game, and none with a clock in that quarter. Choose one of its plays, or say that it is none.`,
    ]);
    expect(playAskedAbout(log, { ...wanted, quarter, notInLog: true })).toBeNull();
  }
  expect(refusal(() => playAskedAbout(log.slice(-1), { ...wanted, quarter: 2 })).field).toBe('playId');
  expect(playAskedAbout([], wanted)).toBeNull();
  expect(refusal(() => playAskedAbout(log, { ...wanted, playId: 'nowhere' })).field).toBe('playId');
  expect(refusal(() => playAskedAbout(log, { ...wanted, quarter: null })).field).toBe('playId');
});

test.each([
  ['7:31', 451],
  ['15:00', 900],
  ['0:00', 0],
  [' 12:05 ', 725],
  ['15:01', null],
  ['7.31', null],
  ['7:61', null],
  ['', null],
])('the clock "%s" is %s seconds', (text, seconds) => {
  expect(clockFrom(text)).toBe(seconds);
});

const decided: Decided = {
  ruling: 'incorrect',
  rule: 'Rule 7-3-8',
  reason: 'The contact came before the ball.',
  differs: '',
  namesMeant: false,
};
const named = { people: [{ givenName: 'Una', familyName: 'Kestrel' }], crews: ['Copper'], teams: ['Harbor'] };
const faults = (more: Partial<Decided>, decisive = false, read: Decided['ruling'] | null = null) =>
  faultsOfAnswer(
    { state: 'under review', decisive },
    { ...decided, ...more },
    read && { ruling: read },
    named,
  ).map(({ field }) => field);

test('an answer needs its rule and its reason, and names no official, crew or shirt; teams it may name', () => {
  expect(faults({})).toEqual([]);
  expect(faults({ rule: '', reason: '' })).toEqual(['rule', 'reason']);
  expect(faults({ reason: 'Kestrel looked away.' })).toEqual(['reason']);
  expect(faults({ reason: 'Crew Copper and #44.' })).toEqual(['reason']);
  expect(faults({ reason: 'Kestrel looked away.', namesMeant: true })).toEqual([]);
  expect(faults({ reason: 'Harbor had the ball.' })).toEqual([]);
});

test('a decisive play waits for its second reader, and a difference is explained', () => {
  expect(refusal(() => faults({}, true)).message).toContain('second reader');
  expect(faults({}, true, 'incorrect')).toEqual([]);
  expect(faults({}, true, 'supportable')).toEqual(['differs']);
  expect(faults({ differs: 'The other angle decides it.' }, true, 'supportable')).toEqual([]);
});

test('the crew may read what was answered up to its release, and an answer after new film by the next one', () => {
  const first = { answeredAt: new Date('2026-09-07T12:00:00Z') };
  const second = { answeredAt: new Date('2026-09-14T12:00:00Z') };
  const between = new Date('2026-09-09T12:00:00Z');
  const later = new Date('2026-09-15T12:00:00Z');
  expect(releasedAnswers({ answers: [first, second], releasedAt: null })).toEqual([]);
  expect(releasedAnswers({ answers: [first, second], releasedAt: between })).toEqual([first]);
  expect(releasedAnswers({ answers: [first, second], releasedAt: later })).toEqual([first, second]);
  expect(hasUnreleased({ answers: [], releasedAt: null })).toBe(false);
  expect(hasUnreleased({ answers: [first], releasedAt: between })).toBe(false);
  expect(hasUnreleased({ answers: [first, second], releasedAt: between })).toBe(true);
});

test('a season is counted by category and by how its inquiries ended', () => {
  const counts = seasonCounts([
    {
      category: 'clock or time-out',
      state: 'closed',
      answers: [{ ruling: 'supportable' }, { ruling: 'incorrect' }],
    },
    { category: 'clock or time-out', state: 'received', answers: [{ ruling: 'correct' }] },
    { category: 'something else', state: 'sent back', answers: [] },
    // Reopened and then sent back: what was answered before stands.
    { category: 'something else', state: 'sent back', answers: [{ ruling: 'correct' }] },
  ]);
  expect(counts.at(-1)).toEqual({
    category: 'all',
    all: 4,
    by: { correct: 1, incorrect: 1, supportable: 0, 'not to be determined': 0, 'sent back': 1, open: 1 },
  });
  expect(counts.find(({ category }) => category === 'clock or time-out')?.by).toMatchObject({
    incorrect: 1,
    open: 1,
  });
});
