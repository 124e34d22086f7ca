import { randomUUID } from 'node:crypto';
import type pg from 'pg';
import { inTransaction } from '../../server/database/transaction.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport, putMarks } from '../../server/reports/filing/open-report.ts';
import { acceptReport, releaseReport } from '../../server/reports/filing/review-steps.ts';
import { writeReply } from '../../server/reports/review/replies.ts';
import { everybodysDuty, type OneGame, oneGame } from '../reports/one-game.ts';

export type PlantedSeason = {
  id: string;
  name: string;
  /** A word that is in every name and text of this season, and in none of the other. */
  word: string;
  gameId: string;
  reportId: string;
  draftId: string;
  replyId: string;
  letterId: string;
};

export type TwoSeasons = Pick<OneGame, 'conferenceId' | 'coordinatorId' | 'observerId'> & {
  /** The referee of both seasons' games. */
  officialId: string;
  first: PlantedSeason;
  second: PlantedSeason;
};

/**
 * A conference with two running seasons, 2030 and 2031, the first one current. Each has a game with a released report
 * and a reply, another with a draft, a crew, a letter, and a development point.
 */
export async function twoSeasons(pool: pg.Pool): Promise<TwoSeasons> {
  return inTransaction(pool, async (client) => {
    const game = await oneGame(client, 12);
    const { conferenceId, coordinatorId, observerId } = game;
    await client.query('UPDATE team SET name = name || $2 WHERE conference_id = $1', [
      conferenceId,
      ' Copper',
    ]);
    await client.query('UPDATE venue SET name = $2 WHERE conference_id = $1', [conferenceId, 'Copper Field']);
    await client.query(`UPDATE season SET name = '2030' WHERE conference_id = $1`, [conferenceId]);
    const first = await filled(client, game, '2030', 'Copper');
    const second = await filled(client, await anotherSeason(client, game), '2031', 'Silver');
    return { conferenceId, coordinatorId, observerId, officialId: game.crew.referee!, first, second };
  });
}

/** A second season of the same people and rubric, with teams, a venue and a game of its own. */
async function anotherSeason(client: pg.PoolClient, game: OneGame): Promise<OneGame> {
  const [seasonId, gameId, rubricVersionId] = [randomUUID(), randomUUID(), randomUUID()];
  const here = [game.conferenceId, seasonId];
  await client.query(`INSERT INTO season (conference_id, id, name) VALUES ($1, $2, '2031')`, here);
  await client.query(
    `WITH place AS (INSERT INTO venue (conference_id, name, latitude, longitude, time_zone)
                    VALUES ($1, 'Silver Field', 41, -91, 'America/Chicago') RETURNING id),
          home AS (INSERT INTO team (conference_id, name) VALUES ($1, 'Home Silver') RETURNING id),
          away AS (INSERT INTO team (conference_id, name) VALUES ($1, 'Visitors Silver') RETURNING id)
     INSERT INTO game (conference_id, id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
     SELECT $1, $3, $2, 'week-1-silver', 1, '2031-09-05T18:00:00Z', home.id, away.id, place.id
       FROM place, home, away`,
    [...here, gameId],
  );
  await client.query(
    `INSERT INTO working_crew_member SELECT conference_id, $3, position, person_id FROM working_crew_member
      WHERE conference_id = $1 AND game_id = $2`,
    [game.conferenceId, game.gameId, gameId],
  );
  await client.query(
    `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer)
     VALUES ($1, $2, $3, 'film', 'accepted')`,
    [game.conferenceId, gameId, game.observerId],
  );
  await client.query(
    'INSERT INTO rubric_version (conference_id, season_id, id, number) VALUES ($1, $2, $3, 1)',
    [...here, rubricVersionId],
  );
  await client.query(
    `INSERT INTO duty SELECT conference_id, $3, key, title, category, graded_as, weight, definition FROM duty
      WHERE conference_id = $1 AND rubric_version_id = $2`,
    [game.conferenceId, game.rubricVersionId, rubricVersionId],
  );
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO play (conference_id, game_id, number, kind, spot, quarter, clock_seconds, down, distance, facts)
     SELECT conference_id, $3, number, kind, spot, quarter, clock_seconds, down, distance, facts FROM play
      WHERE conference_id = $1 AND game_id = $2 ORDER BY number RETURNING id`,
    [game.conferenceId, game.gameId, gameId],
  );
  return { ...game, seasonId, gameId, rubricVersionId, playIds: rows.map(({ id }) => id) };
}

async function filled(
  client: pg.PoolClient,
  { conferenceId, seasonId, gameId, observerId, coordinatorId, crew, playIds }: OneGame,
  name: string,
  word: string,
): Promise<PlantedSeason> {
  const one = async (sql: string, values: unknown[]) =>
    (await client.query<{ id: string }>(sql, values)).rows[0]!.id;
  const observing = { conferenceId, personId: observerId };
  const coordinating = { conferenceId, personId: coordinatorId };
  const referee = crew.referee!;
  const crewId = await one(
    'INSERT INTO crew (conference_id, season_id, name) VALUES ($1, $2, $3) RETURNING id',
    [conferenceId, seasonId, `${word} crew`],
  );
  await client.query(`INSERT INTO crew_member VALUES ($1, $2, 'referee', $3)`, [
    conferenceId,
    crewId,
    referee,
  ]);
  await client.query('UPDATE game SET crew_id = $3 WHERE conference_id = $1 AND id = $2', [
    conferenceId,
    gameId,
    crewId,
  ]);
  await client.query('UPDATE play SET note = $3 WHERE conference_id = $1 AND game_id = $2', [
    conferenceId,
    gameId,
    `${word} play`,
  ]);

  const reportId = await openReport(client, observing, { gameId, observerId });
  const markId = randomUUID();
  await putMarks(client, observing, reportId, [
    {
      id: markId,
      playId: playIds[0]!,
      personId: referee,
      position: 'referee',
      dutyKey: everybodysDuty.key,
      finding: 'missed',
      comment: `${word} comment`,
    },
  ]);
  await confirmCrew(client, observing, gameId);
  await fileReport(client, observing, reportId);
  await acceptReport(client, coordinating, reportId);
  await releaseReport(client, coordinating, reportId);
  await writeReply(client, { conferenceId, personId: referee }, markId, `${word} answer`);
  const replyId = await one('SELECT id FROM reply WHERE conference_id = $1 AND observation_id = $2', [
    conferenceId,
    markId,
  ]);

  const draftGame = await one(
    `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
     SELECT conference_id, season_id, key || '-back', 2, kickoff + interval '7 days', visiting_team_id, home_team_id, venue_id
       FROM game WHERE conference_id = $1 AND id = $2 RETURNING id`,
    [conferenceId, gameId],
  );
  await client.query(
    `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer)
     VALUES ($1, $2, $3, 'film', 'accepted')`,
    [conferenceId, draftGame, observerId],
  );
  const draftId = await openReport(client, observing, { gameId: draftGame, observerId });
  const letterId = await one(
    `INSERT INTO letter (conference_id, season_id, person_id, kind, input_revision, sha256, pdf, released_at, remark)
     VALUES ($1, $2, $3, 'end-of-season', 1, repeat('0', 64), 'x', now(), $4) RETURNING id`,
    [conferenceId, seasonId, referee, `${word} remark`],
  );
  const pointId = await one(
    `INSERT INTO development_point (conference_id, season_id, person_id, position, duty_key)
     VALUES ($1, $2, $3, 'referee', $4) RETURNING id`,
    [conferenceId, seasonId, referee, everybodysDuty.key],
  );
  await client.query(
    `INSERT INTO development_step (conference_id, point_id, kind, happened_on, text, shared, made_by)
     VALUES ($1, $2, 'conversation', current_date, $3, true, $4)`,
    [conferenceId, pointId, `${word} talk`, coordinatorId],
  );
  return { id: seasonId, name, word, gameId, reportId, draftId, replyId, letterId };
}
