import { expect, test } from 'vitest';
import { trailChanges } from '../../server/reports/review/trail-changes.ts';

const person = '0192b7a0-0000-7000-8000-000000000001';
const names = new Map([
  [person, 'Ada Muster'],
  ['p1', 'play 4'],
  ['hold-the-spot', 'Hold the spot'],
]);
const entry = (subjectKind: string, action: string, before: unknown, after: unknown) =>
  trailChanges({ subjectKind, action, before, after }, names);

test('a step shows the state it left and the one it came to, and not what stayed', () => {
  expect(
    entry('report', 'accepted', { state: 'filed', revision: 1 }, { state: 'accepted', revision: 1 }),
  ).toEqual([{ what: 'state', before: 'filed', after: 'accepted' }]);
});

test('a revision shows each mark before and after, in words', () => {
  const mark = { playId: 'p1', personId: person, position: 'umpire', dutyKey: 'hold-the-spot' };
  expect(
    entry(
      'report',
      'revised',
      {
        revision: 1,
        marks: [
          { ...mark, id: 'a', finding: 'missed', comment: 'Late.' },
          { ...mark, id: 'b', finding: 'model', comment: '' },
        ],
      },
      {
        revision: 2,
        marks: [
          { markId: 'a', finding: 'done', comment: 'Late.' },
          { markId: 'b', remove: true },
        ],
      },
    ),
  ).toEqual([
    { what: 'revision', before: '1', after: '2' },
    { what: 'play 4, umpire, Hold the spot', before: 'missed: “Late.”', after: 'done: “Late.”' },
    { what: 'play 4, umpire, Hold the spot', before: 'worth showing', after: 'removed' },
  ]);
});

test('a reply leaves the finding; a ruling that withdraws takes it away', () => {
  expect(
    entry('observation', 'replied', { finding: 'missed', comment: 'Late.' }, { reply: 'I was there.' }),
  ).toEqual([{ what: 'reply', before: '', after: 'I was there.' }]);
  expect(entry('reply', 'ruled', { finding: 'missed' }, { ruling: 'withdrawn', finding: null })).toEqual([
    { what: 'ruling', before: '', after: 'withdrawn' },
    { what: 'finding', before: 'missed', after: '' },
  ]);
  expect(entry('reply', 'ruled', { finding: 'missed' }, { ruling: 'changed', finding: 'done' })).toEqual([
    { what: 'ruling', before: '', after: 'changed' },
    { what: 'finding', before: 'missed', after: 'done' },
  ]);
});

test('a corrected play shows facts added, changed and taken away', () => {
  expect(
    entry(
      'play',
      'play corrected',
      { kind: 'pass', spot: 20, catchDepth: 6 },
      { kind: 'pass', spot: 25, outOfBounds: true },
    ),
  ).toEqual([
    { what: 'spot', before: '20', after: '25' },
    { what: 'catch depth', before: '6', after: '' },
    { what: 'out of bounds', before: '', after: 'yes' },
  ]);
});

test('a removed play shows what it was and the marks that went with it', () => {
  const mark = { observer: 'Cy Nora', official: 'Ada Muster', position: 'umpire', dutyKey: 'hold-the-spot' };
  expect(
    entry(
      'play',
      'play removed',
      { number: 4, spot: 20, marks: [{ ...mark, finding: 'missed', comment: 'Late.' }] },
      null,
    ),
  ).toEqual([
    { what: 'number', before: '4', after: '' },
    { what: 'spot', before: '20', after: '' },
    { what: 'mark', before: 'Ada Muster (umpire), Hold the spot, missed: “Late.”', after: '' },
  ]);
});

test('anything else is told field by field, people by name and checksums by their beginning', () => {
  expect(
    entry('letter', 'released', null, {
      personId: person,
      sha256: 'ab'.repeat(32),
      mail: { sent: false, to: [] },
    }),
  ).toEqual([
    { what: 'person', before: '', after: 'Ada Muster' },
    { what: 'sha256', before: '', after: 'abababab…' },
    { what: 'mail, sent', before: '', after: 'no' },
    { what: 'mail, to', before: '', after: 'none' },
  ]);
  expect(entry('person', 'roles changed', ['official'], ['official', 'observer'])).toEqual([
    { what: 'value', before: 'official', after: 'official; observer' },
  ]);
  expect(entry('x', 'noted', null, null)).toEqual([]);
});
