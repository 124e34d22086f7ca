// @module-tag rest
import { createHash } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  declareConflicts,
  keepBallot,
  sealBallot,
} from '../../server/postseason/committee/stores/ballot-store.ts';
import { readBasis } from '../../server/postseason/committee/stores/basis-store.ts';
import { addMember } from '../../server/postseason/committee/stores/member-store.ts';
import { endPreparing, openBallots } from '../../server/postseason/committee/stores/step-store.ts';
import { namedIn } from '../../server/postseason/record/named.ts';
import { makePerson } from '../support/people.ts';
import type { SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type FinalToFill, finalToFill } from './final-to-fill.ts';
import { pdfAt as readPdf, spaced } from './read-pdf.ts';

// A final with a committee of three, of whom one seals no ballot; then decisions, offers and the closing. Records are read
// back by poppler (pdftotext, pdffonts, pdfinfo) and qpdf; hashes are made by Node.
let database: TestDatabase;
let app: FastifyInstance;
let there: FinalToFill;
let selectionId: string;
const place = (slot: string) => ({ ...there.final, slot });
const acting = (personId = there.game.coordinatorId) => there.acting(personId);

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  there = await finalToFill(database, app);
  selectionId = there.final.id;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const pdfAt = (address: string) => readPdf(there.coordinator, address);
const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function pageAt(address: string) {
  const { text } = await there.coordinator.get(address).expect(200);
  return readPage(text);
}
async function readPage(text: string) {
  const { results } = await validator.validateString(text);
  expect(results.flatMap(({ messages }) => messages).map(({ message }) => message)).toEqual([]);
  const { document } = parseHTML(text);
  const words = spaced(document.querySelector('main')!.textContent!);
  const alert = spaced(document.querySelector('[role=alert]')?.textContent ?? '');
  return { document, words, alert };
}
const at = (then: string) => `/postseason/${selectionId}/${then}`;
const close = (agent: SignedInAgent, form: Record<string, string>) =>
  agent.post(at('close')).type('form').send(form);
const seenNow = async () =>
  (await pageAt(at('close'))).document.querySelector('[name=seen]')!.getAttribute('value')!;

const secrets = ['calm with both coaches', 'his brother-in-law', 'never sealed by anybody'];

test('a draft says so on each page, and holds nothing of sealed ballots before they are open', async () => {
  const { pool } = database;
  const { reader, late, umpires, final } = there;
  const first = await pdfAt(at('record-draft.pdf'));
  expect(first.words).toContain('No candidates were kept');
  expect((await pageAt(at('close'))).words).toContain('can be closed once its ballots are open');
  await close(there.coordinator, { seen: '', reason: 'because' }).expect(409);

  for (const personId of [there.game.coordinatorId, reader, late])
    await addMember(pool, acting(), selectionId, personId);
  await endPreparing(pool, app.results, acting(), selectionId, { withCommittee: true });
  const of = { gameId: final.gameId, position: 'umpire' } as const;
  await declareConflicts(pool, acting(reader), selectionId, [
    { officialId: umpires[3]!, reason: secrets[1]! },
  ]);
  await declareConflicts(pool, acting(), selectionId, []);
  await declareConflicts(pool, acting(late), selectionId, []);
  await keepBallot(pool, acting(reader), selectionId, {
    ...of,
    typed: [
      { officialId: umpires[0]!, vote: 'for', note: secrets[0]! },
      { officialId: umpires[1]!, vote: 'against', note: '' },
    ],
  });
  await keepBallot(pool, acting(), selectionId, {
    ...of,
    typed: [{ officialId: umpires[0]!, vote: 'abstain', note: '' }],
  });
  await keepBallot(pool, acting(late), selectionId, {
    ...of,
    typed: [{ officialId: umpires[0]!, vote: 'for', note: secrets[2]! }],
  });
  await sealBallot(pool, acting(reader), selectionId);
  await sealBallot(pool, acting(), selectionId);

  const { pages, words } = await pdfAt(at('record-draft.pdf'));
  expect(pages.length).toBeGreaterThan(2);
  for (const page of pages) {
    expect(page).toMatch(/DRAFT of .* not the record/);
    expect(page).toMatch(
      /confidential: for the committee and whoever the conference lets audit it Page \d+ of \d+/,
    );
  }
  for (const secret of secrets) expect(words).not.toContain(secret);
  expect(words).not.toMatch(/\babstain\b/);
  expect(words).toContain('The ballots are not open');
  expect(words).toContain('Umpire Number 0');
});

test('opened, decided and offered: what is still open is listed, and closing with it needs a reason', async () => {
  const { pool } = database;
  const { umpires, choose, explain, offered } = there;
  const { crew } = there.game;
  await openBallots(pool, acting(), selectionId, 'the third member is away');
  await choose(place('umpire'), umpires[2]!);
  await explain(place('umpire'), 'steady in close games', {
    [umpires[0]!]: 'worked the final last year',
  });
  await choose(place('referee'), crew.referee!);
  await explain(place('referee'), 'the only referee who can travel');
  await choose(place('alternate 1'), umpires[4]!, 'umpire');
  await pool.query(`UPDATE selection SET state = 'offered' WHERE id = $1`, [selectionId]);
  await offered(place('alternate 1'), umpires[2]!, 'moved up', { position: 'umpire' });
  await offered(place('umpire'), umpires[2]!, 'accepted', { reason: 'gladly' });
  await pool.query(
    `UPDATE selection_offer SET recorded_by = offered_by, recorded_note = 'told the office on Monday'
      WHERE selection_id = $1 AND answer = 'accepted'`,
    [selectionId],
  );
  await offered(place('referee'), crew.referee!, 'declined', { reason: 'a wedding that day' });
  await offered(place('alternate 1'), umpires[4]!, null, { position: 'umpire' });

  for (const { words } of [await pageAt(at('record')), await pageAt(at('close'))]) {
    expect(words).toContain('Alternate 1, Final: Umpire Number 4 has not answered the offer');
    expect(words).toContain('Head linesman, Final: nobody is chosen.');
    expect(words).toContain('Referee, Final: Test referee is chosen, but the offer was declined.');
    expect(words).toMatch(/Umpire, Final: one passed over without a reason/);
    expect(words).not.toContain('Umpire, Final: Umpire Number 2');
  }
  expect((await pageAt(at('close'))).words).toContain('A closed selection is not reopened');
  const { alert } = await readPage(
    (await close(there.coordinator, { seen: await seenNow() }).expect(400)).text,
  );
  expect(alert).toMatch(/say why it is closed with \d+ left open/);

  const seen = await seenNow();
  await choose(place('line judge'), crew['line judge']!);
  const refused = await readPage(
    (await close(there.second, { seen, reason: 'typed before' }).expect(409)).text,
  );
  expect(refused.alert).toContain('was changed by somebody else meanwhile');
  expect(refused.document.querySelector('textarea')!.textContent).toBe('typed before');
});

test('closed by two at once: one record, and its hash is the same wherever it is told', async () => {
  const seen = await seenNow();
  const both = await Promise.all([
    close(there.coordinator, { seen, reason: 'the conference fills them by telephone' }),
    close(there.second, { seen, reason: 'the conference fills them by telephone' }),
  ]);
  expect(both.map(({ status }) => status).sort()).toEqual([303, 409]);
  const lost = await readPage(both.find(({ status }) => status === 409)!.text);
  expect(lost.alert).toContain('The final is closed already. A closed selection is not reopened');

  const { bytes, headers } = await pdfAt(at('record.pdf'));
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  const page = await pageAt(at('record'));
  expect(page.document.querySelector('code')!.textContent).toBe(sha256);
  // RFC 9530, section 3: a dictionary of digests, each a byte sequence in base64 between colons.
  expect(headers['repr-digest']).toBe(`sha-256=:${createHash('sha256').update(bytes).digest('base64')}:`);
  expect(headers['content-disposition']).toContain(sha256.slice(0, 12));
  const { rows } = await database.pool.query(
    `SELECT r.sha256, s.state, s.closed_at = r.made_at AS "sameTime",
            (SELECT array_agg(e.after ->> 'sha256') FROM audit_entry e
              WHERE e.subject_id = r.selection_id::text AND e.action = 'selection closed') AS told
       FROM selection_record r JOIN selection s ON s.id = r.selection_id WHERE r.selection_id = $1`,
    [selectionId],
  );
  expect(rows).toEqual([{ sha256, state: 'closed', sameTime: true, told: [sha256] }]);
  const { body } = await there.coordinator.get(`/api/selections/${selectionId}/record`).expect(200);
  expect(body).toMatchObject({ state: 'closed', record: { sha256, kept: true } });
  const { bytes: byApi } = await pdfAt(`/api/selections/${selectionId}/record.pdf`);
  expect(byApi.equals(bytes)).toBe(true);
});

test('the record tells all that was known, held, chosen and answered, and where it comes from', async () => {
  const { pages, words } = await pdfAt(at('record.pdf'));
  for (const page of pages) {
    expect(page).not.toMatch(/draft/i);
    expect(page).toMatch(/Confidential: for the committee and whoever the conference lets audit it Page/);
  }
  expect(words).toContain('The program proposes and people decide; the conference’s policy comes first.');
  for (const said of [
    ...['Test Conference', 'The final', 'Final', 'December 12, 2026', 'Rivermouth'],
    ...['At least 3 games in the position.', '100 points for no chance at all', '40 points for each tier'],
    'Officials of a position whose rank intervals overlap stand in one tier',
    ...['points of each game', 'misses of chances', 'input revision'],
    // Of the ballots what was sealed; who sealed none, and why it was opened without them.
    ...['calm with both coaches', 'his brother-in-law', 'the third member is away'],
    'Opened before Lucan Latecomer had sealed',
    ...['Test Coordinator: none declared.', 'Lucan Latecomer: none declared.'],
    ...[
      'steady in close games',
      'worked the final last year',
      'no reason was recorded',
      'a wedding that day',
    ],
    'by telephone, as Test Coordinator wrote down (told the office on Monday): gladly',
    'offered another place of the game instead',
    ...['accepted', 'declined', 'no answer', 'the conference fills them by telephone'],
    ...['Ballots opened', 'Official chosen: umpire, Final, Umpire Number 2'],
    'The program was asked for no proposal.',
  ])
    expect(words).toContain(said);
  expect(words).not.toContain('never sealed by anybody');
  const basis = (await readBasis(database.pool, there.game.conferenceId, selectionId))!;
  const lines = basis.games[0]!.positions.find(({ position }) => position === 'umpire')!.lines;
  expect(lines.map(({ officialId }) => officialId).sort()).toEqual([...there.umpires].sort());
  for (const { officialId, name, grade } of lines) {
    const source = `/seasons/${there.game.seasonId}/officials/${officialId}/why`;
    expect(words).toContain(source);
    await there.coordinator.get(source).expect(200);
    expect(words).toContain(name);
    expect(words).toContain(grade!.grade.toFixed(2));
    expect(words).toContain(`${grade!.low.toFixed(2)} to ${grade!.high.toFixed(2)}`);
  }
});

test('once closed it is read only, by pages and by the database', async () => {
  await there.coordinator.get(at('record-draft.pdf')).expect(409);
  await there.coordinator
    .put(`/api/selections/${selectionId}/games/${there.final.gameId}/places/umpire`)
    .send({ officialId: there.umpires[0], position: 'umpire' })
    .expect(409);
  for (const sql of [
    `UPDATE selection SET state = 'offered', closed_at = NULL WHERE id = $1`,
    'DELETE FROM selection_record WHERE selection_id = $1',
    `UPDATE selection_record SET sha256 = repeat('0', 64) WHERE selection_id = $1`,
    `UPDATE selection_ballot SET vote = 'against' WHERE selection_id = $1`,
    'DELETE FROM selection_offer WHERE selection_id = $1',
  ])
    await expect(database.pool.query(sql, [selectionId])).rejects.toMatchObject({ code: 'CM409' });
});

test('with nothing left open no reason is asked, nor kept; by the API', async () => {
  const { pool } = database;
  const { made, choose, explain, game } = there;
  const { id, gameId } = await made('A semifinal', { name: 'Semifinal', playedOn: '2026-12-05' });
  await there.coordinator.post(`/api/selections/${id}/proposal`).expect(200);
  await endPreparing(pool, app.results, acting(), id, {
    ...{ withCommittee: false, reason: 'two coordinators are the committee' },
  });
  const basis = (await readBasis(pool, there.game.conferenceId, id))!;
  const best = basis.games[0]!.positions.find(({ position }) => position === 'umpire')!.lines.find(
    ({ rank }) => rank?.place === 1,
  )!;
  for (const slot of ['referee', 'umpire', 'head linesman', 'line judge'] as const) {
    await choose({ id, gameId, slot }, slot === 'umpire' ? best.officialId : game.crew[slot]!);
    await explain({ id, gameId, slot }, `the right one as ${slot}`);
  }
  const now = await there.coordinator.get(`/api/selections/${id}/record`).expect(200);
  expect(now.body).toMatchObject({ state: 'opened', open: [], whyNot: null, record: null });
  await there.coordinator.get(`/api/selections/${id}/record.pdf`).expect(404);
  const closed = await there.coordinator
    .post(`/api/selections/${id}/close`)
    .send({ seen: now.body.seen, reason: 'not asked for' })
    .expect(200);
  expect(closed.body.record.sha256).toMatch(/^[0-9a-f]{64}$/);
  await there.coordinator.post(`/api/selections/${id}/close`).send({ seen: now.body.seen }).expect(409);
  const { words } = await pdfAt(`/postseason/${id}/record.pdf`);
  expect(words).toContain('Nothing was left open.');
  expect(words).not.toContain('not asked for');
  expect(words).toContain('Decided without a committee');
  expect(words).toContain('two coordinators are the committee');
  expect(words).toContain('the right one as head linesman');
  expect(words).toMatch(/Made .* asked for by Test Coordinator, on input revision \d+/);
  expect(words).toContain('Umpire, Semifinal Umpire Number 1');
});

test('of somebody whom it does not name an erasure leaves the file', async () => {
  const { pool } = database;
  const { conferenceId } = there.game;
  const stranger = await makePerson(pool, conferenceId, ['official'], {
    ...{ givenName: 'Thaddeus', familyName: 'Elsewhere' },
  });
  const { bytes } = await pdfAt(at('record.pdf'));
  await there.coordinator
    .post(`/people/${stranger.personId}/erase`)
    .type('form')
    .send({ reason: 'asked for it', name: 'Thaddeus Elsewhere' });
  const { rows } = await pool.query('SELECT erased_at AS at FROM person WHERE id = $1', [stranger.personId]);
  expect(rows[0].at).not.toBeNull();
  expect((await pdfAt(at('record.pdf'))).bytes.equals(bytes)).toBe(true);
});

test('whom a record names: by id, by name or address in a text, as whole words', () => {
  const person = (id: string, familyName: string) => ({
    ...{ id, familyName, givenName: 'A', email: `${id}@example.test` },
  });
  const ids = [...'abcdef'].map((letter) => `${letter.repeat(8)}-0000-4000-8000-000000000000`);
  const document = {
    blocks: [{ kind: 'paragraph', text: [{ text: 'As O’Brien “Bo” told; c@x, and Fielding.' }] }],
  };
  const named = namedIn(
    { names: {}, offers: [{ officialId: ids[0] }] } as never,
    document as never,
    [
      ...[person(ids[0]!, 'Nobody'), person(ids[1]!, 'o’brien'), person(ids[2]!, 'Field')],
      ...[{ ...person(ids[3]!, 'Other'), email: 'c@x' }, person(ids[4]!, 'Last'), person(ids[5]!, 'Absent')],
    ],
    ids[4]!,
  );
  expect(named).toEqual([ids[0], ids[1], ids[3], ids[4]]);
});

test('of somebody erased the file goes, and the hash stays to tell a copy by', async () => {
  const before = await database.pool.query('SELECT sha256 FROM selection_record WHERE selection_id = $1', [
    selectionId,
  ]);
  const person = `/people/${there.umpires[7]}/erase`;
  await there.coordinator.post(person).type('form').send({ reason: 'asked for it', name: 'Umpire Number 7' });
  const { rows } = await database.pool.query(
    'SELECT pdf, sha256 FROM selection_record WHERE selection_id = $1',
    [selectionId],
  );
  const basis = await readBasis(database.pool, there.game.conferenceId, selectionId);
  expect(JSON.stringify(basis)).toContain('Umpire Number 6');
  expect(JSON.stringify(basis)).not.toContain('Umpire Number 7');
  expect(rows).toEqual([{ pdf: null, sha256: before.rows[0].sha256 }]);
  await there.coordinator.get(at('record.pdf')).expect(404);
  const { words } = await pageAt(at('record'));
  expect(words).toContain('Its file went when the data of somebody whom it names was erased.');
  const { body } = await there.coordinator.get(`/api/selections/${selectionId}/record`).expect(200);
  expect(body.record).toMatchObject({ kept: false, goneBecause: 'erasure' });
  expect(words).toContain(before.rows[0].sha256);
});
