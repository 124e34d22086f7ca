// @module-tag long
import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { makeUmpires, releaseUmpires } from '../support/umpires.ts';

/** A season of eight umpires from best to worst, and a selection of one final with a committee of three. */
let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
const members: Record<'chair' | 'reader' | 'late', { personId: string; agent: SignedInAgent }> = {} as never;
/** By rank, the best first. */
let officials: string[];
let names: Map<string, string>;
const nameOf = (at: number) => names.get(officials[at]!)!;
let selectionId: string;
let finalId: string;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 14);
  const { conferenceId } = game;
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
  members.chair = { personId: game.coordinatorId, agent: coordinator };
  members.reader = await personSignedIn(app, conferenceId, ['observer']);
  members.late = await personSignedIn(app, conferenceId, ['observer']);
  await database.pool.query('UPDATE season SET minimum_games = 1, minimum_opportunities = 1');
  officials = await makeUmpires(database, conferenceId, 8);
  await releaseUmpires(
    database,
    game,
    { ...game, key: 'season' },
    officials,
    officials.map((_, at) => 2 - 0.9 * at),
    6,
  );
  names = new Map(officials.map((id, number) => [id, `Umpire Number ${number}`]));
  const standings = await coordinator
    .get(`/api/seasons/${game.seasonId}/standings?position=umpire`)
    .expect(200);
  officials = standings.body.lines
    .map(({ personId }: { personId: string }) => personId)
    .filter((id: string) => names.has(id));
  const { body } = await coordinator
    .post(`/api/seasons/${game.seasonId}/selections`)
    .send({ title: 'The final' })
    .expect(201);
  selectionId = body.id;
  const added = await coordinator
    .post(`/api/selections/${selectionId}/games`)
    .send({ name: 'Final', playedOn: '2026-12-12', crewSize: 4 })
    .expect(201);
  finalId = added.body.games[0].id;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function documentAt(agent: SignedInAgent, address: string, status = 200) {
  const { text } = await agent.get(address).expect(status);
  const { results } = await validator.validateString(text);
  expect(results.flatMap(({ messages }) => messages).map(({ message }) => message)).toEqual([]);
  return parseHTML(text).document;
}
const wordsAt = async (agent: SignedInAgent, address: string) =>
  (await documentAt(agent, address)).querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');
const send = (agent: SignedInAgent, address: string, form: Record<string, string | string[]> = {}) =>
  agent.post(address).type('form').send(form);
const alertOf = (text: string) =>
  parseHTML(text).document.querySelector('[role=alert]')?.textContent?.replaceAll(/\s+/g, ' ') ?? '';
const at = (then: string) => `/postseason/${selectionId}/${then}`;
const seat = (then = '') => `/my/committee/${selectionId}${then}`;
const ballot = () => seat(`/games/${finalId}/umpire`);
const votes = (of: Record<string, { vote: string; note?: string }>) => ({
  official: Object.keys(of),
  ...Object.fromEntries(
    Object.entries(of).flatMap(([id, { vote, note = '' }]) => [
      [`vote-${id}`, vote],
      [`note-${id}`, note],
    ]),
  ),
});

test('who sits on it: coordinators and observers, no official, nobody twice', async () => {
  for (const { personId } of Object.values(members))
    await send(coordinator, at('committee/members'), { personId }).expect(303);
  await send(coordinator, at('committee/members'), { personId: members.reader.personId }).expect(303);
  const refused = await send(coordinator, at('committee/members'), { personId: officials[0]! }).expect(400);
  expect(alertOf(refused.text)).toContain(
    'choose a coordinator or an observer who works no games themselves',
  );
  expect(await wordsAt(coordinator, at('committee'))).toContain('3 members, 0 sealed');
});

test('a member sees their own seat only; nobody else has one', async () => {
  const outsider = await personSignedIn(app, game.conferenceId, ['observer', 'official']);
  await outsider.agent.get(seat()).expect(404);
  await outsider.agent.get(ballot()).expect(404);
  await send(outsider.agent, seat('/seal')).expect(404);
  expect(await wordsAt(outsider.agent, '/my/committee')).toContain('You sit on no committee');
  expect(await wordsAt(members.reader.agent, '/my/committee')).toContain('The final');
  for (const address of [at('committee'), at('decisions'), `/postseason/${selectionId}`])
    await members.reader.agent.get(address).expect((answer) => {
      if (![403, 404].includes(answer.status)) throw new Error(`${address}: ${answer.status}`);
    });
});

test('before voting begins nothing can be written; then conflicts come first', async () => {
  expect(alertOf((await send(members.reader.agent, seat('/conflicts')).expect(409)).text)).toContain(
    'voting has not begun',
  );
  await send(coordinator, at('committee/begin')).expect(303);
  expect(alertOf((await send(coordinator, at('committee/begin')).expect(409)).text)).toContain(
    'past preparing',
  );
  // What stays is shown as what stays: no field of the rules can be typed in any more.
  const rules = await documentAt(coordinator, at('rules'));
  expect(rules.querySelector('form fieldset.bare')!.hasAttribute('disabled')).toBe(true);
  const early = await send(
    members.reader.agent,
    ballot(),
    votes({ [officials[0]!]: { vote: 'for' } }),
  ).expect(409);
  expect(alertOf(early.text)).toContain('Declare your conflicts first');
  // Nor is anything read of anybody: it may be who a conflict is with.
  const unread = await wordsAt(members.reader.agent, ballot());
  expect(unread).toContain('then you read and vote');
  expect(unread).not.toMatch(/likely rank|chance of top/);
  for (const at of officials.keys()) expect(unread).not.toContain(nameOf(at));
  const without = await send(members.reader.agent, seat('/conflicts'), { conflict: officials[3]! }).expect(
    400,
  );
  expect(alertOf(without.text)).toContain('say what the conflict is');
  await send(members.reader.agent, seat('/conflicts'), {
    conflict: officials[3]!,
    [`reason-${officials[3]}`]: 'my brother-in-law',
  }).expect(303);
  // On whom a conflict is declared they neither read nor vote.
  const words = await wordsAt(members.reader.agent, ballot());
  expect(words).toContain('1 candidate with whom you declared a conflict is not shown');
  expect(words).not.toContain(nameOf(3));
  const about = await send(
    members.reader.agent,
    ballot(),
    votes({ [officials[3]!]: { vote: 'against' } }),
  ).expect(409);
  expect(alertOf(about.text)).toContain(`You declared a conflict with ${nameOf(3)}`);
});

test('what is written is nobody else’s until all are opened together', async () => {
  const secret = `a note of ${randomUUID()}`;
  await send(
    members.reader.agent,
    ballot(),
    votes({ [officials[0]!]: { vote: 'for', note: secret }, [officials[1]!]: { vote: 'against' } }),
  ).expect(303);
  const own = await documentAt(members.reader.agent, ballot());
  expect(own.querySelector(`[name="note-${officials[0]}"]`)!.textContent).toBe(secret);
  // Of two windows the one that is older takes nothing back: it sends what it was shown as it was.
  const field = (name: string) => own.querySelector(`[name="${name}"]`)!.getAttribute('value')!;
  const older = {
    official: [officials[0]!, officials[1]!],
    [`was-${officials[0]}`]: field(`was-${officials[0]}`),
  };
  await send(
    members.reader.agent,
    ballot(),
    votes({ [officials[0]!]: { vote: 'abstain', note: secret } }),
  ).expect(303);
  await send(members.reader.agent, ballot(), {
    ...older,
    ...{
      [`vote-${officials[0]}`]: 'for',
      [`note-${officials[0]}`]: secret,
      [`vote-${officials[1]}`]: 'against',
    },
  }).expect(303);
  const now = await documentAt(members.reader.agent, ballot());
  expect(now.querySelector(`[name="vote-${officials[0]}"][checked]`)!.getAttribute('value')).toBe('abstain');
  // What is too long is refused with all that was typed, and never cut. Line ends count as a browser counts them.
  const long = { vote: 'for', note: `${'long '.repeat(801)}end` };
  const refused = await send(members.reader.agent, ballot(), votes({ [officials[1]!]: long })).expect(400);
  expect(alertOf(refused.text)).toContain('a note has 4008 characters; shorten it to 4000 at most');
  expect(refused.text).toContain(long.note);
  const lines = { vote: 'against', note: Array.from({ length: 1000 }, () => 'one').join('\r\n') };
  await send(members.reader.agent, ballot(), votes({ [officials[1]!]: lines })).expect(303);
  const nonsense = await send(
    members.reader.agent,
    ballot(),
    votes({ [officials[1]!]: { vote: 'perhaps' } }),
  ).expect(400);
  expect(alertOf(nonsense.text)).toContain('vote for, against, abstain, or not');
  await send(
    members.reader.agent,
    ballot(),
    votes({ [officials[0]!]: { vote: 'for', note: secret } }),
  ).expect(303);
  await send(members.late.agent, seat('/conflicts')).expect(303);
  await send(
    members.late.agent,
    ballot(),
    votes({ [officials[1]!]: { vote: 'for', note: 'never sealed' } }),
  ).expect(303);
  await send(coordinator, seat('/conflicts')).expect(303);
  await send(coordinator, ballot(), votes({ [officials[1]!]: { vote: 'for' } })).expect(303);
  await send(members.reader.agent, seat('/seal')).expect(303);
  await send(coordinator, seat('/seal')).expect(303);
  expect(
    alertOf(
      (await send(coordinator, ballot(), votes({ [officials[0]!]: { vote: 'against' } })).expect(409)).text,
    ),
  ).toContain('You sealed your ballot');
  const reads = [
    ...[
      `/postseason/${selectionId}`,
      at('committee'),
      at('decisions'),
      at('rules'),
      at('candidates'),
      '/trail',
    ],
    ...[`/api/selections/${selectionId}`, `/api/seasons/${game.seasonId}/selections`, seat(), ballot()],
  ];
  for (const [who, agent] of [
    ['coordinator', coordinator],
    ['late', members.late.agent],
  ] as const)
    for (const address of reads) {
      const { text } = await agent.get(address);
      expect(text, `${who} at ${address}`).not.toContain(secret);
      if (who === 'coordinator') expect(text, address).not.toContain('brother-in-law');
    }
  const { rows } = await database.pool.query<{ told: string }>(
    `SELECT string_agg(coalesce(before::text, '') || coalesce(after::text, ''), ' ') AS told FROM audit_entry
      WHERE subject_id = $1`,
    [selectionId],
  );
  expect(rows[0]!.told).not.toContain(secret);
  // Nor with whom anybody is in conflict: coordinators read the history.
  expect(rows[0]!.told).toContain('{"conflicts": 1}');
  expect(rows[0]!.told).not.toContain(officials[3]);
});

test('a member who wrote something is taken off only after it is said what is lost', async () => {
  const extra = await personSignedIn(app, game.conferenceId, ['observer']);
  const { personId } = extra;
  const leave = (more: Record<string, string> = {}) =>
    send(coordinator, at('committee/leave'), { personId, ...more });
  await send(coordinator, at('committee/members'), { personId }).expect(303);
  await send(extra.agent, seat('/conflicts'), {
    ...{ conflict: officials[4]!, [`reason-${officials[4]}`]: 'a neighbor' },
  }).expect(303);
  await send(
    extra.agent,
    ballot(),
    votes({ [officials[0]!]: { vote: 'for', note: 'not to be read' } }),
  ).expect(303);
  const asked = await leave().expect(409);
  expect(alertOf(asked.text)).toContain(
    'has begun a ballot and declared conflicts, and has sealed nothing yet',
  );
  expect(asked.text).not.toContain('not to be read');
  const button = parseHTML(asked.text).document.querySelector('form[action$="/leave"] button.danger')!;
  expect(button.textContent).toContain('Take off and delete what they wrote');
  // Asking has changed nothing: the ballot is there as it was.
  const own = await documentAt(extra.agent, ballot());
  expect(own.querySelector(`[name="note-${officials[0]}"]`)!.textContent).toBe('not to be read');
  await leave({ sure: 'yes' }).expect(303);
  await extra.agent.get(seat()).expect(404);
  const { rows } = await database.pool.query(
    `SELECT before FROM audit_entry WHERE subject_id = $1 AND action = 'selection: committee member removed'`,
    [selectionId],
  );
  expect(rows).toEqual([{ before: { personId, lost: { ballots: 1, conflicts: 1 } } }]);
  // Who wrote nothing is taken off at once.
  await send(coordinator, at('committee/members'), { personId }).expect(303);
  await leave().expect(303);
});

test('opened early only with a reason; what was not sealed is not counted', async () => {
  const refused = await send(coordinator, at('committee/open')).expect(400);
  expect(alertOf(refused.text)).toContain('1 of 3 members have not sealed theirs');
  await send(coordinator, at('committee/open'), { reason: 'the third member is ill' }).expect(303);
  await send(coordinator, at('committee/open'), { reason: 'again' }).expect(409);
  const words = await wordsAt(coordinator, at('committee'));
  expect(words).toContain('Opened before all were sealed: the third member is ill');
  expect(words).toContain(`${nameOf(3)}: my brother-in-law`);
  expect(words).toContain('not sealed, not counted');
  expect(await wordsAt(coordinator, at('decisions'))).not.toContain('never sealed');
});

test('each choice and each higher-ranked candidate passed over needs a reason; two at once lose nothing', async () => {
  const place = `/api/selections/${selectionId}/games/${finalId}/places/umpire`;
  await coordinator.put(place).send({ officialId: officials[1], position: 'umpire' }).expect(200);
  const page = await documentAt(coordinator, at('decisions'));
  const main = page.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');
  expect(main).toContain('umpire, Final: the choice and one passed over');
  expect(main).toMatch(new RegExp(`${nameOf(1)} .*1 for, 1 against`));
  expect(main).toMatch(new RegExp(`Why not ${nameOf(0)} .*1 for, 0 against`));
  const form = page.querySelector('form[action$="/umpire/reasons"]')!;
  const seen = form.querySelector('[name=seen]')!.getAttribute('value')!;
  const reasons = `/postseason/${selectionId}/games/${finalId}/places/umpire/reasons`;
  const over = officials[0]!;
  expect(alertOf((await send(coordinator, reasons, { seen, reason: '', over }).expect(400)).text)).toContain(
    'say why this official was chosen',
  );
  const long = await send(coordinator, reasons, { seen, reason: 'r'.repeat(2001), over }).expect(400);
  expect(alertOf(long.text)).toContain('a reason has 2001 characters; shorten it to 2000 at most');
  await send(coordinator, reasons, {
    ...{ seen, reason: 'worked the semifinal well', over },
    [`over-${over}`]: 'the same tier, and was away',
  }).expect(303);
  const second = (await personSignedIn(app, game.conferenceId, ['coordinator'])).agent;
  const late = await send(second, reasons, { seen, reason: 'my own reason', over }).expect(409);
  expect(alertOf(late.text)).toContain('Somebody else decided on this place meanwhile');
  expect(late.text).toContain('my own reason');
  expect(late.text).toContain('worked the semifinal well');
  expect(late.text).toContain('Kept by somebody: the same tier, and was away');
  expect(await wordsAt(coordinator, at('decisions'))).toContain(
    'Every choice, and everyone passed over, has a reason.',
  );
  // With another choice the reasons no longer hold.
  await coordinator.put(place).send({ officialId: officials[2], position: 'umpire' }).expect(200);
  expect(await wordsAt(coordinator, at('decisions'))).toContain('the choice and 2 passed over');
});

test('whoever declared a conflict neither chooses them, nor reads or decides on a place where they are compared', async () => {
  await database.pool.query(
    `INSERT INTO selection_conflict (conference_id, selection_id, member_id, official_id, reason)
     VALUES ($1, $2, $3, $4, 'an old quarrel')`,
    [game.conferenceId, selectionId, game.coordinatorId, officials[0]],
  );
  const place = `/api/selections/${selectionId}/games/${finalId}/places/umpire`;
  const refused = await coordinator
    .put(place)
    .send({ officialId: officials[0], position: 'umpire' })
    .expect(409);
  expect(refused.body.detail).toContain(`You declared a conflict with ${nameOf(0)}`);
  const page = await documentAt(coordinator, at('decisions'));
  const umpire = page.querySelector(`[id="place-${finalId}-umpire"]`)!;
  expect(umpire.textContent).toContain('another coordinator decides on this place');
  expect(umpire.querySelector('form')).toBeNull();
  const second = (await personSignedIn(app, game.conferenceId, ['coordinator'])).agent;
  const theirs = await documentAt(second, at('decisions'));
  const seen = theirs.querySelector(`[id="place-${finalId}-umpire"] [name=seen]`)!.getAttribute('value')!;
  const late = await send(coordinator, `/postseason/${selectionId}/games/${finalId}/places/umpire/reasons`, {
    seen,
    reason: 'mine',
  }).expect(409);
  expect(alertOf(late.text)).toContain('You declared a conflict with one of those compared here');
});

test('without a committee decisions begin at once, with the reason why', async () => {
  const { body } = await coordinator
    .post(`/api/seasons/${game.seasonId}/selections`)
    .send({ title: 'A semifinal' })
    .expect(201);
  const here = `/postseason/${body.id}/committee/without`;
  expect(alertOf((await send(coordinator, here, { reason: 'too small' }).expect(409)).text)).toContain(
    'no game in this selection yet',
  );
  await coordinator
    .post(`/api/selections/${body.id}/games`)
    .send({ name: 'Semifinal', playedOn: '2026-12-05', crewSize: 4 })
    .expect(201);
  expect(alertOf((await send(coordinator, here).expect(400)).text)).toContain(
    'say why this selection has no committee',
  );
  expect(alertOf((await send(coordinator, here, { reason: 'r'.repeat(3000) }).expect(400)).text)).toContain(
    'the reason has 3000 characters; shorten it to 2000 at most',
  );
  await send(coordinator, here, { reason: 'two coordinators are the committee' }).expect(303);
  expect(await wordsAt(coordinator, `/postseason/${body.id}/committee`)).toContain(
    'There was no committee: two coordinators are the committee',
  );
});
