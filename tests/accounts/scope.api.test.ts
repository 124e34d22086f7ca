import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { policies } from '../../server/accounts/policy.ts';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { makeConference } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// Leaks across people and across conferences: two conferences of one shape; everyone tries for everyone's material.

type Side = Awaited<ReturnType<typeof makeSide>>;
let database: TestDatabase;
let app: FastifyInstance;
let here: Side;
let there: Side;

async function insert(sql: string, values: unknown[]): Promise<string> {
  return (await database.pool.query(`${sql} RETURNING id`, values)).rows[0].id;
}

async function makeSide() {
  const conferenceId = await makeConference(database.pool);
  const signIn = (...roles: Parameters<typeof personSignedIn>[2]) => personSignedIn(app, conferenceId, roles);
  const [coordinator, observer, otherObserver, official, otherOfficial] = [
    await signIn('coordinator'),
    await signIn('observer'),
    await signIn('observer'),
    await signIn('official'),
    await signIn('official'),
  ];
  const season = await insert('INSERT INTO season (conference_id, name) VALUES ($1, $2)', [
    conferenceId,
    '2031',
  ]);
  const [home, visiting] = [
    await insert("INSERT INTO team (conference_id, name) VALUES ($1, 'Home')", [conferenceId]),
    await insert("INSERT INTO team (conference_id, name) VALUES ($1, 'Visiting')", [conferenceId]),
  ];
  const venue = await insert(
    "INSERT INTO venue (conference_id, name, latitude, longitude, time_zone) VALUES ($1, 'Field', 40, -90, 'America/Chicago')",
    [conferenceId],
  );
  const rubric = await insert(
    'INSERT INTO rubric_version (conference_id, season_id, number) VALUES ($1, $2, 1)',
    [conferenceId, season],
  );
  const game = (key: string) =>
    insert(
      `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
       VALUES ($1, $2, $3, 1, now(), $4, $5, $6)`,
      [conferenceId, season, key, home, visiting, venue],
    );
  const [releasedGame, filedGame, declinedGame] = [await game('g1'), await game('g2'), await game('g3')];
  const assign = (gameId: string, answer: string) =>
    insert(
      "INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer) VALUES ($1, $2, $3, 'film', $4)",
      [conferenceId, gameId, observer.personId, answer],
    );
  const assignment = await assign(releasedGame, 'accepted');
  await assign(filedGame, 'offered');
  await assign(declinedGame, 'declined');
  const report = (gameId: string, state: string) =>
    insert(
      `INSERT INTO report (conference_id, season_id, game_id, observer_id, state, rubric_version_id, filed_at, released_at)
       VALUES ($1, $2, $3, $4, $5, $6, now(), now())`,
      [conferenceId, season, gameId, observer.personId, state, rubric],
    );
  const [released, filed] = [await report(releasedGame, 'released'), await report(filedGame, 'filed')];
  const observation = async (reportId: string, gameId: string, removed = false) => {
    const play = await insert(
      "INSERT INTO play (conference_id, game_id, number, kind, spot) VALUES ($1, $2, $3, 'run', 40)",
      [conferenceId, gameId, removed ? 2 : 1],
    );
    return insert(
      `INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding, removed_at)
       VALUES ($1, $2, $3, $4, $5, 'umpire', 'spot', 'missed', $6)`,
      [conferenceId, randomUUID(), reportId, play, official.personId, removed ? new Date() : null],
    );
  };
  const seen = await observation(released, releasedGame);
  const unseen = await observation(filed, filedGame);
  const removed = await observation(released, releasedGame, true);
  const reply = await insert(
    "INSERT INTO reply (conference_id, observation_id, official_id, text) VALUES ($1, $2, $3, 'I was there.')",
    [conferenceId, seen, official.personId],
  );
  const letter = (edition: number, releasedAt: Date | null) =>
    insert(
      `INSERT INTO letter (conference_id, season_id, person_id, kind, edition, input_revision, sha256, pdf, released_at)
       VALUES ($1, $2, $3, 'mid-season', $4, 1, repeat('0', 64), '', $5)`,
      [conferenceId, season, official.personId, edition, releasedAt],
    );
  const [releasedLetter, draftLetter] = [await letter(1, new Date()), await letter(2, null)];
  const calibrationOf = async (state: 'draft' | 'open') => {
    const id = await insert(
      `INSERT INTO calibration_set (conference_id, season_id, title, state, opened_at) VALUES ($1, $2, 'Clips', $3, $4)`,
      [conferenceId, season, state, state === 'open' ? new Date() : null],
    );
    await database.pool.query(
      'INSERT INTO calibration_observer (conference_id, set_id, observer_id) VALUES ($1, $2, $3)',
      [conferenceId, id, observer.personId],
    );
    return id;
  };
  const [calibration, draftCalibration] = [await calibrationOf('open'), await calibrationOf('draft')];
  const [contact, otherContact] = [await signIn('team contact'), await signIn('team contact')];
  const bystanders = await insert("INSERT INTO team (conference_id, name) VALUES ($1, 'Bystanders')", [
    conferenceId,
  ]);
  for (const [who, teamId] of [
    [contact, home],
    [otherContact, bystanders],
  ] as const)
    await database.pool.query(
      'INSERT INTO team_contact (conference_id, person_id, team_id) VALUES ($1, $2, $3)',
      [...[conferenceId, who.personId, teamId]],
    );
  const askedBy = (number: number | null) =>
    insert(
      `INSERT INTO inquiry (conference_id, season_id, game_id, team_id, number, state, received_at, made_by)
       VALUES ($1, $2, $3, $4, $5::int, CASE WHEN $5::int IS NULL THEN 'draft' ELSE 'received' END,
               CASE WHEN $5::int IS NOT NULL THEN now() END, $6)`,
      [conferenceId, season, releasedGame, home, number, contact.personId],
    );
  const [inquiry, draft] = [await askedBy(1), await askedBy(null)];
  await database.pool.query(
    `INSERT INTO inquiry_statement (conference_id, inquiry_id, game_id, person_id, asked, asked_by)
     VALUES ($1, $2, $3, $4, 'What did you see?', $5)`,
    [conferenceId, inquiry, releasedGame, official.personId, coordinator.personId],
  );
  await database.pool.query(
    `INSERT INTO inquiry_reading (conference_id, inquiry_id, round, game_id, reader_id, asked_by)
     VALUES ($1, $2, 1, $3, $4, $5)`,
    [conferenceId, inquiry, releasedGame, otherObserver.personId, coordinator.personId],
  );
  const selection = await insert(
    `INSERT INTO selection (conference_id, season_id, title, rules, weights, made_by) VALUES ($1, $2, 'Bowls', '{}', '{}', $3)`,
    [conferenceId, season, coordinator.personId],
  );
  const offer = await insert(
    `WITH game AS (INSERT INTO selection_game (conference_id, selection_id, name, played_on, crew_size)
                   VALUES ($1, $2, 'Bowl', '2026-12-05', 4) RETURNING id)
     INSERT INTO selection_offer (conference_id, selection_id, game_id, slot, position, official_id, offered_by, answer_by)
     SELECT $1, $2, id, 'umpire', 'umpire', $3, $4, '2026-11-28' FROM game`,
    [conferenceId, selection, official.personId, coordinator.personId],
  );
  return {
    people: { coordinator, observer, otherObserver, official, otherOfficial, contact, otherContact },
    ids: {
      releasedGame,
      filedGame,
      declinedGame,
      assignment,
      released,
      filed,
      seen,
      unseen,
      removed,
      reply,
      calibration,
      draftCalibration,
      selection,
      offer,
    },
    letters: { releasedLetter, draftLetter },
    inquiries: { inquiry, draft },
  };
}

beforeAll(async () => {
  database = await testDatabase();
  app = await buildApp(database, readConfig({ LOG_LEVEL: 'warn' }));
  for (const [path, policy] of [
    ['report/:reportId', policies.ownReport],
    ['writes/:reportId', policies.writesReport],
    ['game/:gameId', policies.assignedGame],
    ['film/:gameId', policies.filmOfGame],
    ['assignment/:assignmentId', policies.ownAssignment],
    ['calibration/:setId', policies.calibrationSet],
    ['marks-calibration/:setId', policies.marksCalibration],
    ['evaluation/:personId', policies.ownEvaluation],
    ['letter/:letterId', policies.ownLetter],
    ['observation/:observationId', policies.releasedObservationAboutMe],
    ['reply/:replyId', policies.ownReply],
    ['person/:personId', policies.coordinatorOfPerson],
    ['selection/:selectionId', policies.selectionOfConference],
    ['offer/:offerId', policies.ownOffer],
    ['inquiry/:inquiryId', policies.inquiryOfConference],
    ['own-inquiry/:inquiryId', policies.ownTeamsInquiry],
    ['answered/:inquiryId', policies.answeredInquiry],
    ['own-game/:gameId', policies.gameOfOwnTeam],
    ['statement/:inquiryId', policies.statementOfInquiry],
    ['second-reading/:inquiryId', policies.secondReaderOfInquiry],
  ] as const) {
    app.get(`/api/test/${path}`, { config: { policy } }, async () => 'given');
  }
  await app.ready();
  here = await makeSide();
  there = await makeSide();
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

type Who = keyof Side['people'];
const everyone: Who[] = [
  'coordinator',
  'observer',
  'otherObserver',
  'official',
  'otherOfficial',
  'contact',
  'otherContact',
];
const status = (agent: SignedInAgent, path: string) =>
  agent.get(`/api/test/${path}`).then((answer) => answer.status);

/** Tries for a thing as everyone of its own conference, and of the other. */
async function whoGets(path: (side: Side) => string): Promise<{ given: Who[]; strangers: number[] }> {
  const given: Who[] = [];
  const strangers: number[] = [];
  for (const who of everyone) {
    if ((await status(here.people[who].agent, path(here))) === 200) given.push(who);
    strangers.push(await status(there.people[who].agent, path(here)));
  }
  return { given, strangers };
}

test.each<[string, (side: Side) => string, Who[]]>([
  ['a released report', (side) => `report/${side.ids.released}`, ['coordinator', 'observer']],
  ['a filed report', (side) => `report/${side.ids.filed}`, ['coordinator', 'observer']],
  ['writing a report', (side) => `writes/${side.ids.filed}`, ['observer']],
  ['a game', (side) => `game/${side.ids.releasedGame}`, ['coordinator', 'observer']],
  ['a game offered', (side) => `game/${side.ids.filedGame}`, ['coordinator', 'observer']],
  ['a game declined', (side) => `game/${side.ids.declinedGame}`, ['coordinator']],
  ['film of a game', (side) => `film/${side.ids.releasedGame}`, ['coordinator', 'observer']],
  ['film of a game declined', (side) => `film/${side.ids.declinedGame}`, ['coordinator']],
  ['an assignment', (side) => `assignment/${side.ids.assignment}`, ['coordinator', 'observer']],
  ['a calibration set', (side) => `calibration/${side.ids.calibration}`, ['coordinator', 'observer']],
  ['a calibration set not opened', (side) => `calibration/${side.ids.draftCalibration}`, ['coordinator']],
  ['marking clips', (side) => `marks-calibration/${side.ids.calibration}`, ['observer']],
  ['an evaluation', (side) => `evaluation/${side.people.official.personId}`, ['coordinator', 'official']],
  ['a released letter', (side) => `letter/${side.letters.releasedLetter}`, ['coordinator', 'official']],
  ['a letter not released', (side) => `letter/${side.letters.draftLetter}`, ['coordinator']],
  ['a released observation', (side) => `observation/${side.ids.seen}`, ['official']],
  ['an observation not released', (side) => `observation/${side.ids.unseen}`, []],
  ['an observation removed', (side) => `observation/${side.ids.removed}`, []],
  ['a reply', (side) => `reply/${side.ids.reply}`, ['coordinator', 'official']],
  ['a person', (side) => `person/${side.people.official.personId}`, ['coordinator']],
  ['an offer', (side) => `offer/${side.ids.offer}`, ['official']],
  ['a selection', (side) => `selection/${side.ids.selection}`, ['coordinator']],
  ['an inquiry', (side) => `inquiry/${side.inquiries.inquiry}`, ['coordinator']],
  ['a draft of an inquiry', (side) => `inquiry/${side.inquiries.draft}`, []],
  ['a team’s own inquiry', (side) => `own-inquiry/${side.inquiries.inquiry}`, ['contact']],
  ['a team’s own draft', (side) => `own-inquiry/${side.inquiries.draft}`, ['contact']],
  ['an answer to a team', (side) => `answered/${side.inquiries.inquiry}`, ['coordinator', 'contact']],
  ['a game of a team', (side) => `own-game/${side.ids.releasedGame}`, ['contact']],
  ['a statement', (side) => `statement/${side.inquiries.inquiry}`, ['official']],
  ['a second reading', (side) => `second-reading/${side.inquiries.inquiry}`, ['otherObserver']],
])('%s is given to no one else, and to nobody of another conference', async (_what, path, allowed) => {
  const { given, strangers } = await whoGets(path);
  expect(given).toEqual(allowed);
  for (const stranger of strangers) expect([403, 404]).toContain(stranger);
});

test("what is another's and what does not exist are told apart by nothing", async () => {
  const agent = here.people.otherObserver.agent;
  const [theirs, absent, garbage] = await Promise.all(
    [here.ids.released, randomUUID(), 'garbage'].map((id) => agent.get(`/api/test/report/${id}`)),
  );
  for (const answer of [theirs!, absent!, garbage!]) {
    expect(answer.status).toBe(404);
    expect(JSON.parse(answer.text).detail).toBe('There is no such report, or it is not yours to see.');
  }
});

test('a role alone opens nothing: an official who also observes sees their own evaluation and their own reports', async () => {
  const { personId, agent } = await personSignedIn(app, await makeConference(database.pool), [
    'observer',
    'official',
  ]);
  expect(await status(agent, `evaluation/${personId}`)).toBe(200);
  expect(await status(agent, `report/${here.ids.released}`)).toBe(404);
  expect(await status(agent, `evaluation/${here.people.official.personId}`)).toBe(404);
});
