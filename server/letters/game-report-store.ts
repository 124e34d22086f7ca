import type { Queryable } from '../database/transaction.ts';
import { answerDays } from '../reports/answer-time.ts';
import { readOfficialShares } from '../results/standings/official-shares.ts';
import { readGameCounts } from '../results/standings/season-counts.ts';
import { notFound } from '../web/problem.ts';
import type { ReleasedGame } from './game-report-of-season.ts';
import { readMarks } from './season-source.ts';

/** A game with what its released reports hold. @throws Problem 404 when it has none. */
export async function readReleasedGame(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<ReleasedGame> {
  const { rows } = await db.query<
    Omit<
      ReleasedGame,
      'people' | 'counts' | 'marks' | 'shares' | 'duties' | 'answerBy' | 'conference' | 'gameId'
    > & {
      seasonId: string;
      conference: string;
      policyText: string;
    }
  >(
    `SELECT g.season_id AS "seasonId", c.name AS conference, c.policy_text AS "policyText", s.name AS "seasonName",
            teams.title, g.week,
            to_char(g.kickoff AT TIME ZONE v.time_zone, 'YYYY-MM-DD') AS day,
            to_char(max(r.released_at) AT TIME ZONE c.time_zone, 'YYYY-MM-DD') AS "releasedOn",
            max(r.revision) AS revision,
            (SELECT count(*)::int FROM play p
              WHERE p.conference_id = g.conference_id AND p.game_id = g.id AND p.removed_at IS NULL) AS plays,
            coalesce((SELECT p.given_name || ' ' || p.family_name FROM person p
                        JOIN person_role o ON o.conference_id = p.conference_id AND o.person_id = p.id
                       WHERE p.conference_id = g.conference_id AND o.role = 'coordinator' AND p.active
                       ORDER BY p.created_at LIMIT 1), '') AS coordinator
       FROM report r
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id
       JOIN conference c ON c.id = g.conference_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE r.conference_id = $1 AND g.id = $2 AND r.state = 'released'
      GROUP BY g.conference_id, g.id, c.id, s.name, teams.title, v.time_zone`,
    [conferenceId, gameId],
  );
  const game = rows[0];
  if (!game) throw notFound('released game');
  const { conference, policyText, seasonId, ...rest } = game;
  return {
    ...rest,
    gameId,
    conference: { name: conference, policyText },
    people: await readCrewOfGame(db, conferenceId, seasonId, gameId),
    counts: await readGameCounts(db, conferenceId, gameId),
    marks: await readMarks(db, conferenceId, seasonId, gameId),
    shares: await readOfficialShares(db, { conferenceId, seasonId, gameId }),
    duties: await readDutiesOfGame(db, conferenceId, gameId),
    answerBy: await answerDays(db, conferenceId, gameId),
  };
}

async function readCrewOfGame(db: Queryable, conferenceId: string, seasonId: string, gameId: string) {
  const { rows } = await db.query<{ id: string; name: string; crew: string | null }>(
    `SELECT DISTINCT ON (p.id) p.id, p.given_name || ' ' || p.family_name AS name, c.name AS crew
       FROM opportunity_count o
       JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
       JOIN person p ON p.conference_id = o.conference_id AND p.id = o.person_id
       LEFT JOIN (crew_member m JOIN crew c ON c.conference_id = m.conference_id AND c.id = m.crew_id)
         ON m.conference_id = p.conference_id AND m.person_id = p.id AND c.season_id = $2
      WHERE o.conference_id = $1 AND r.game_id = $3 ORDER BY p.id, c.name`,
    [conferenceId, seasonId, gameId],
  );
  return new Map(rows.map(({ id, name, crew }) => [id, { name, crew }]));
}

async function readDutiesOfGame(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<ReleasedGame['duties']> {
  const { rows } = await db.query<{ key: string; title: string; guidance: string }>(
    `SELECT d.key, d.title, coalesce(d.definition->>'guidance', '') AS guidance FROM report r
       JOIN duty d ON d.conference_id = r.conference_id AND d.rubric_version_id = r.rubric_version_id
      WHERE r.conference_id = $1 AND r.game_id = $2`,
    [conferenceId, gameId],
  );
  return new Map(rows.map((row) => [row.key, row]));
}

/** An official's games with a released report that counts them, latest first. */
export async function releasedGamesOf(
  db: Queryable,
  conferenceId: string,
  personId: string,
): Promise<{ gameId: string; title: string; week: number; seasonId: string; position: string }[]> {
  const { rows } = await db.query(
    `SELECT g.id AS "gameId", teams.title, g.week, g.season_id AS "seasonId",
            min(c.position) AS position
       FROM report r
       JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE r.conference_id = $1 AND c.person_id = $2 AND r.state = 'released'
      GROUP BY g.conference_id, g.id, teams.title ORDER BY g.kickoff DESC`,
    [conferenceId, personId],
  );
  return rows;
}
