// @module-tag long
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { everybodyWatched } from '../../server/duties/watched.ts';
import type { Change, PutMark, PutPlay, PutWatched } from '../../server/reports/entry/changes.ts';
import { type EntryState, inverseOf, withChanges } from '../../server/reports/entry/entry-state.ts';
import { entrySnapshot } from '../../server/reports/entry/entry-store.ts';
import { saveChanges } from '../../server/reports/entry/save-mark.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { StepRefused } from '../../server/reports/states.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { everybodysCall, everybodysDuty, type OneGame, oneGame, plainPlay } from './one-game.ts';

let database: TestDatabase;
let game: OneGame;
let reportId: string;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());
beforeEach(async () => {
  game = await oneGame(database.pool, 5);
  reportId = await openReport(
    database.pool,
    { conferenceId: game.conferenceId, personId: game.observerId },
    game,
  );
});

const acting = () => ({ conferenceId: game.conferenceId, personId: game.observerId });
const send = (...changes: Change[]) => saveChanges(database.pool, acting(), reportId, changes);
const outcomes = async (...changes: Change[]) => (await send(...changes)).map((result) => result.outcome);
const now = () => entrySnapshot(database.pool, game.conferenceId, reportId);

const mark = (more: Partial<PutMark> = {}): PutMark => ({
  kind: 'put mark',
  id: uuidv7(),
  basedOn: null,
  markId: uuidv7(),
  playId: game.playIds[0]!,
  position: 'line judge',
  dutyKey: everybodysDuty.key,
  finding: 'missed',
  comment: '',
  consequence: null,
  ...more,
});
const play = (more: Partial<PutPlay> = {}): PutPlay => ({
  kind: 'put play',
  id: uuidv7(),
  basedOn: null,
  playId: uuidv7(),
  after: game.playIds.at(-1)!,
  play: plainPlay(6),
  filmSeconds: null,
  note: '',
  ...more,
});

test('a change sent three times is applied once, and the state is what the device foresaw', async () => {
  const first = mark();
  const second = mark({ id: uuidv7(), basedOn: first.id, markId: first.markId, comment: 'Turned away.' });
  const added = play();
  const before = await now();
  expect(await outcomes(first, second, added)).toEqual(['applied', 'applied', 'applied']);
  expect(await outcomes(first)).toEqual(['applied']);
  expect(await outcomes(second, added, first)).toEqual(['applied', 'applied', 'applied']);
  const foreseen: EntryState = withChanges(before, [first, second, added]);
  expect(await now()).toEqual(foreseen);
  const { rows } = await database.pool.query(
    'SELECT version FROM observation WHERE conference_id = $1 AND id = $2',
    [game.conferenceId, first.markId],
  );
  expect(rows).toEqual([{ version: 2 }]);
});

test('a change sent twice within one request, or twice at the same moment, is applied once', async () => {
  const first = mark();
  expect(await outcomes(first, first)).toEqual(['applied', 'applied']);
  const second = play();
  const both = await Promise.all([send(second), send(second)]);
  expect(both.flat().map((result) => result.outcome)).toEqual(['applied', 'applied']);
  expect((await now()).plays).toHaveLength(6);
});

test('marks of two devices on different things merge', async () => {
  await send(mark());
  await send(mark({ position: 'umpire' }), mark({ playId: game.playIds[1]! }));
  const state = await now();
  expect(state.marks).toHaveLength(3);
  expect(state.conflicts).toEqual([]);
});

test('the same mark entered on two devices is one mark', async () => {
  await send(mark());
  expect(await outcomes(mark())).toEqual(['same']);
  expect((await now()).marks).toHaveLength(1);
});

test('what a call cost is kept, counts as another version, and goes with a call that was missed only', async () => {
  const call = everybodysCall.key;
  const first = mark({ dutyKey: call, finding: 'wrong call', consequence: 'possession' });
  expect(await outcomes(first)).toEqual(['applied']);
  expect((await now()).marks).toMatchObject([{ finding: 'wrong call', consequence: 'possession' }]);
  // By the way of many changes at once, as well as by that of a single mark.
  const dearer = { ...first, id: uuidv7(), basedOn: first.id, consequence: 'score' as const };
  expect(await outcomes(dearer, mark({ playId: game.playIds[1]! }))).toEqual(['applied', 'applied']);
  expect((await now()).marks).toContainEqual(expect.objectContaining({ consequence: 'score' }));
  const elsewhere = mark({ dutyKey: call, finding: 'wrong call', consequence: 'yards' });
  expect(await outcomes(elsewhere)).toEqual(['conflict']);
  expect((await now()).conflicts).toMatchObject([
    { mine: { consequence: 'yards' }, theirs: { mark: { consequence: 'score' } } },
  ]);
  expect(await send(mark({ dutyKey: call, finding: 'right call', consequence: 'yards' }))).toMatchObject([
    { outcome: 'refused', message: expect.stringContaining('only a wrong call or a missed foul has one') },
  ]);
  expect(await send(mark({ position: 'umpire', consequence: 'yards' }))).toMatchObject([
    { outcome: 'refused' },
  ]);
});

test('a page that knows nothing of consequences leaves a mark the one it had; null takes it away', async () => {
  const call = { dutyKey: everybodysCall.key, finding: 'wrong call' as const };
  const first = mark({ ...call, consequence: 'possession' });
  await send(first);
  let last = first.id;
  const { consequence: _, ...untold } = first;
  const next = (more: Partial<PutMark>): PutMark => {
    const change = { ...untold, id: uuidv7(), basedOn: last, ...more };
    last = change.id;
    return change;
  };
  const another = () => mark({ position: 'umpire', playId: game.playIds[1]! });
  const kept = async () => (await now()).marks.find(({ markId }) => markId === first.markId)?.consequence;
  const foreseen = async (change: PutMark, ...others: PutMark[]) => {
    const before = await now();
    expect((await outcomes(change, ...others))[0]).toBe('applied');
    const device = withChanges(before, [change]).marks.find(({ markId }) => markId === first.markId);
    expect(device?.consequence).toBe(await kept());
  };
  // Alone, and among several: the two ways to save.
  await foreseen(next({ comment: 'Ruled in.' }));
  expect(await kept()).toBe('possession');
  await foreseen(next({ comment: 'Ruled in; a foot was out.' }), another());
  expect(await kept()).toBe('possession');
  // The same words again, based on something older, differ in nothing.
  expect(
    await outcomes({ ...untold, id: uuidv7(), basedOn: first.id, comment: 'Ruled in; a foot was out.' }),
  ).toEqual(['same']);
  await foreseen(next({ consequence: null }));
  expect(await kept()).toBeNull();
  await foreseen(next({ consequence: 'yards' }));
  // A right call has none; back again, nothing is made up.
  await foreseen(next({ finding: 'right call' }));
  expect(await kept()).toBeNull();
  await foreseen(next({ comment: 'Wrong after all.' }));
  expect(await kept()).toBeNull();
  // A new mark without one was not judged.
  await send({ ...mark(call), consequence: undefined, playId: game.playIds[2]! });
  expect((await now()).marks.find(({ playId }) => playId === game.playIds[2])?.consequence).toBeNull();
});

test('two devices that differ on one mark: both versions are kept until one is chosen', async () => {
  const theirs = mark({ comment: 'Late.' });
  const mine = mark({ finding: 'model', comment: 'Perfect.' });
  await send(theirs);
  expect(await outcomes(mine)).toEqual(['conflict']);
  expect(await outcomes(mine)).toEqual(['conflict']);
  const [conflict] = (await now()).conflicts;
  expect(conflict).toMatchObject({
    changeId: mine.id,
    mine: { finding: 'model', comment: 'Perfect.' },
    theirs: { mark: { finding: 'missed', comment: 'Late.', changeId: theirs.id } },
  });
  expect((await now()).marks).toMatchObject([{ comment: 'Late.' }]);

  const choice: Change = {
    kind: 'resolve',
    id: uuidv7(),
    conflictId: mine.id,
    keep: 'mine',
    basedOn: theirs.id,
  };
  expect(await outcomes(choice)).toEqual(['applied']);
  const state = await now();
  expect(state.marks).toMatchObject([{ comment: 'Perfect.', finding: 'model' }]);
  expect(state.conflicts).toEqual([]);
});

test('an edit of a mark that another device has edited since is a conflict; keeping theirs changes nothing', async () => {
  const first = mark();
  const onA = mark({ basedOn: first.id, markId: first.markId, comment: 'A' });
  const onB = mark({ basedOn: first.id, markId: first.markId, comment: 'B' });
  const onBAgain = mark({ basedOn: onB.id, markId: first.markId, comment: 'B again' });
  await send(first);
  expect(await outcomes(onA)).toEqual(['applied']);
  expect(await outcomes(onB, onBAgain)).toEqual(['conflict', 'conflict']);
  const resolve = (conflictId: string): Change => ({
    kind: 'resolve',
    id: uuidv7(),
    conflictId,
    keep: 'theirs',
    basedOn: onA.id,
  });
  // The later version stands for both.
  expect((await now()).conflicts.map((conflict) => conflict.changeId)).toEqual([onBAgain.id]);
  expect(await outcomes(resolve(onB.id), resolve(onBAgain.id))).toEqual(['same', 'applied']);
  const state = await now();
  expect(state.marks).toMatchObject([{ comment: 'A' }]);
  expect(state.conflicts).toEqual([]);
});

test('a choice made without having seen a third version is a conflict again', async () => {
  const first = mark();
  const onA = mark({ basedOn: first.id, markId: first.markId, comment: 'A' });
  const onB = mark({ basedOn: first.id, markId: first.markId, comment: 'B' });
  await send(first, onA, onB);
  await send(mark({ basedOn: onA.id, markId: first.markId, comment: 'A, later' }));
  const choice: Change = {
    kind: 'resolve',
    id: uuidv7(),
    conflictId: onB.id,
    keep: 'mine',
    basedOn: onA.id,
  };
  expect(await outcomes(choice)).toEqual(['conflict']);
  const state = await now();
  expect(state.marks).toMatchObject([{ comment: 'A, later' }]);
  expect(state.conflicts).toMatchObject([
    { changeId: choice.id, mine: { comment: 'B' }, theirs: { mark: { comment: 'A, later' } } },
  ]);
});

test('a new play goes where it was put, and later plays move up', async () => {
  const between = play({ after: game.playIds[1]! });
  const first = play({ after: null });
  await send(between, first);
  expect((await now()).plays.map((item) => item.playId)).toEqual([
    first.playId,
    game.playIds[0],
    game.playIds[1],
    between.playId,
    ...game.playIds.slice(2),
  ]);
  expect((await now()).plays.map((item) => item.number)).toEqual([1, 2, 3, 4, 5, 6, 7]);
});

test('a play with marks goes only on a second look, and comes back whole when that is undone', async () => {
  const on = mark();
  await send(on);
  const remove = (marksToo: boolean): Change => ({
    kind: 'remove play',
    id: uuidv7(),
    basedOn: null,
    playId: game.playIds[0]!,
    marksToo,
  });
  expect(await outcomes(remove(false))).toEqual(['conflict']);
  const removal = remove(true);
  expect(await outcomes(removal)).toEqual(['applied']);
  let state = await now();
  expect(state.plays.map((item) => item.number)).toEqual([1, 2, 3, 4]);
  expect(state.marks).toEqual([]);
  await send(
    play({ playId: game.playIds[0]!, basedOn: removal.id, after: null, play: plainPlay(1) }),
    mark({ ...on, id: uuidv7(), basedOn: removal.id }),
  );
  state = await now();
  expect(state.plays.map((item) => item.playId)).toEqual(game.playIds);
  expect(state.marks).toHaveLength(1);
});

test('a mark made on a play that another device removed is not lost', async () => {
  await send({ kind: 'remove play', id: uuidv7(), basedOn: null, playId: game.playIds[0]!, marksToo: false });
  const late = mark();
  expect(await outcomes(late)).toEqual(['conflict']);
  await send({ kind: 'resolve', id: uuidv7(), conflictId: late.id, keep: 'mine', basedOn: null });
  const state = await now();
  expect(state.plays).toHaveLength(5);
  expect(state.marks).toMatchObject([{ playId: game.playIds[0] }]);
  expect(state.conflicts).toEqual([]);
});

test('what can never apply is refused with its reason, and the changes after it still apply', async () => {
  const results = await send(
    mark({ dutyKey: 'no-such-duty' }),
    mark({ finding: 'wrong call' }),
    mark({ playId: uuidv7() }),
    mark(),
  );
  expect(results.map((result) => result.outcome)).toEqual(['refused', 'refused', 'refused', 'applied']);
  expect(results[0]!.message).toMatch(/no duty "no-such-duty"/);
  expect(results[1]!.message).toMatch(/"wrong call" does not fit a duty graded as mechanics/);
  expect(results[2]!.message).toMatch(/not in the play log/);
});

test('a change of crew moves the marks with their position; a crew changed elsewhere is a conflict', async () => {
  await send(mark());
  const was = Object.entries(game.crew).map(([position, personId]) => ({ position, personId })) as never;
  const swapped = (one: string, other: string) =>
    Object.entries(game.crew).map(([position, personId]) => ({
      position,
      personId: position === one ? game.crew[other] : position === other ? game.crew[one] : personId,
    })) as never;
  const crew = swapped('line judge', 'umpire');
  expect(await outcomes({ kind: 'confirm crew', id: uuidv7(), was, crew })).toEqual(['applied']);
  const { rows } = await database.pool.query('SELECT person_id FROM observation WHERE conference_id = $1', [
    game.conferenceId,
  ]);
  expect(rows).toEqual([{ person_id: game.crew.umpire }]);
  const other = swapped('back judge', 'umpire');
  expect(await outcomes({ kind: 'confirm crew', id: uuidv7(), was, crew: other })).toEqual(['conflict']);
  expect((await now()).conflicts).toHaveLength(1);
});

test('a confirmation taken back leaves the crew entered, not confirmed', async () => {
  const crew = Object.entries(game.crew).map(([position, personId]) => ({ position, personId })) as never;
  const confirmed = async () => (await now()).crewConfirmed;
  await send({ kind: 'confirm crew', id: uuidv7(), was: crew, crew });
  expect(await confirmed()).toBe(true);
  await send({ kind: 'confirm crew', id: uuidv7(), was: crew, crew, confirmed: false });
  expect(await confirmed()).toBe(false);
  expect((await now()).crew).toHaveLength(8);
});

test('a filed report takes no more changes, but still answers for those it has', async () => {
  const first = mark();
  await send(first);
  await database.pool.query(
    `UPDATE report SET state = 'filed', filed_at = now(), rubric_version_id = $2 WHERE conference_id = $1`,
    [game.conferenceId, game.rubricVersionId],
  );
  expect(await outcomes(first)).toEqual(['applied']);
  await expect(send(mark({ position: 'umpire' }))).rejects.toBeInstanceOf(StepRefused);
});

const watchedChange = (more: Partial<PutWatched> = {}): PutWatched => ({
  kind: 'watched',
  id: uuidv7(),
  was: everybodyWatched,
  watched: { ...everybodyWatched, positions: ['umpire', 'referee'] },
  ...more,
});

test('whom somebody watched, said differently on two devices, is for them to choose', async () => {
  expect((await now()).report.watched).toEqual(everybodyWatched);
  const first = watchedChange();
  expect(await outcomes(first)).toEqual(['applied']);
  // The same, named in another order.
  expect(
    await outcomes(watchedChange({ watched: { ...everybodyWatched, positions: ['referee', 'umpire'] } })),
  ).toEqual(['applied']);
  const other = watchedChange({ watched: { ...everybodyWatched, positions: ['back judge'] } });
  expect(await outcomes(other)).toEqual(['conflict']);
  expect((await now()).conflicts).toMatchObject([
    { kind: 'watched', theirs: { watched: { positions: ['referee', 'umpire'] } } },
  ]);
  await send({ kind: 'resolve', id: uuidv7(), conflictId: other.id, keep: 'mine', basedOn: null });
  const state = await now();
  expect(state.conflicts).toEqual([]);
  expect(state.report.watched?.positions).toEqual(['back judge']);
  const gone = { from: uuidv7(), to: null, positions: [] };
  expect(
    await send(
      watchedChange({ was: state.report.watched, watched: { ...everybodyWatched, stretches: [gone] } }),
    ),
  ).toMatchObject([{ outcome: 'refused', message: expect.stringContaining('no longer in the log') }]);
});

test('a range of plays moves to the neighbour of a removed play, on device and server alike, and back', async () => {
  const [first, second, third] = game.playIds as [string, string, string];
  const stretches = [
    { from: first, to: second, positions: [] },
    { from: third, to: third, positions: ['umpire' as const] },
  ];
  await send(watchedChange({ watched: { ...everybodyWatched, stretches } }));
  const remove = (playId: string): Change => ({
    ...{ kind: 'remove play', id: uuidv7(), basedOn: null, playId, marksToo: true },
  });
  for (const [playId, left] of [
    [second, [{ from: first, to: first, positions: [] }, stretches[1]]],
    [third, [{ from: first, to: first, positions: [] }]],
    [first, []],
  ] as const) {
    const before = await now();
    const change = remove(playId);
    expect(await outcomes(change)).toEqual(['applied']);
    const after = await now();
    expect(after.report.watched?.stretches).toEqual(left);
    expect(withChanges(before, [change]).report).toEqual(after.report);
    const back = inverseOf(before, change, uuidv7);
    expect(await outcomes(...back)).toEqual(back.map(() => 'applied'));
    expect((await now()).report).toEqual(before.report);
    expect(await outcomes({ ...remove(playId), basedOn: back[0]!.id } as Change)).toEqual(['applied']);
  }
});
