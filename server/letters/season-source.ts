import type pg from 'pg';
import type { Queryable } from '../database/transaction.ts';
import type { Consequence } from '../duties/consequence.ts';
import { effectOf, type Finding } from '../duties/finding.ts';
import type { Play } from '../football/play.ts';
import type { Position } from '../football/positions.ts';
import { type PlayColumns, playOf } from '../games/play-rows.ts';
import type { ByKind } from '../grading/grade-kinds.ts';
import { groupBy } from '../grading/group-by.ts';
import { knowledgeLines } from '../knowledge/lines-in-words.ts';
import type { FollowUp } from '../patterns/follow-up/follow-up.ts';
import type { OfficialSpread } from '../patterns/follow-up/official-spread.ts';
import { readMarkedChances } from '../results/marked-chances.ts';
import { type DutyName, readDuties } from '../results/patterns/pattern-counts.ts';
import { followedSince, readPointCounts } from '../results/patterns/point-counts.ts';
import type { CurrentPatterns } from '../results/patterns/season-patterns.ts';
import { remarkInWords, whyChanceNotCounted } from '../results/remark-words.ts';
import { groundsOfFigures, type SeasonResults } from '../results/season-results.ts';
import { type DutyTotal, readDutyTotals } from '../results/standings/duty-totals.ts';
import { type OfficialShares, readOfficialShares } from '../results/standings/official-shares.ts';
import { readSeasonCounts, type SeasonCount } from '../results/standings/season-counts.ts';
import type { CurrentStandings } from '../results/standings/season-standings.ts';

/**
 * Everything that letters of one season are made from, read once for a whole batch. This file is the only one
 * in `letters` that knows where grades and patterns come from.
 */
export interface LetterSeason {
  conferenceId: string;
  seasonId: string;
  /** The season's input revision that all of this rests on. */
  inputRevision: number;
  /** All that its standings and patterns rest on, as jsonb in text: see `groundsOfFigures`. */
  grounds: string;
  /** When it was read, by the database's clock. */
  readAt: Date;
  conference: { name: string; policyText: string; replyDays: number };
  season: { name: string; games: number; weeks: number | null; throughWeek: number | null };
  people: ReadonlyMap<string, { name: string; email: string }>;
  crews: ReadonlyMap<string, string>;
  /** By official: of everybody, or of the one that the season was read for. */
  counts: ReadonlyMap<string, readonly SeasonCount[]>;
  /** What everybody's counts add up to by duty, also where the season was read for one official. */
  totals: readonly DutyTotal[];
  standings: CurrentStandings;
  /** The same by each kind of grade, of the same released reports. */
  standingsByKind: ByKind<CurrentStandings>;
  patterns: CurrentPatterns;
  duties: ReadonlyMap<string, DutyName>;
  /** Marked chances worth telling that count: misses, wrong calls and plays worth showing, of released reports. */
  marks: readonly SeasonMark[];
  /** How much of each official's work was watched and logged. */
  shares: readonly OfficialShares[];
  /** Conversations and letters that raised a development point, earliest first. */
  raised: readonly RaisedPoint[];
  /** Quizzes and clinics of each official, in words. */
  rules: ReadonlyMap<string, readonly string[]>;
}

export interface SeasonMark {
  personId: string;
  position: Position;
  dutyKey: string;
  finding: Finding;
  consequence: Consequence | null;
  /** Why it does not count, in a sentence; null when it counts. */
  whyNotCounted: string | null;
  /** What its observers wrote, in one. */
  comment: string;
  gameId: string;
  playId: string;
  game: string;
  week: number;
  /** Day of the game where it was played, YYYY-MM-DD. */
  day: string;
  filmLink: string | null;
  filmSeconds: number | null;
  play: Play;
  playNumber: number;
}

export interface RaisedPoint {
  personId: string;
  position: Position;
  dutyKey: string;
  situationCut: string;
  /** The first conversation or letter, YYYY-MM-DD. */
  on: string;
  kind: 'conversation' | 'letter';
  /** Before and since, as the point's page has it. */
  followUp: FollowUp;
}

/**
 * Reads a season for letters; released reports only. Read again when a report is released or a setting changed
 * meanwhile, so that all of it rests on the same. Null when the conference has no such season.
 *
 * @param only the official whose letter alone is to be made; everybody's counts are many thousand rows
 */
export async function readLetterSeason(
  pool: pg.Pool,
  results: SeasonResults,
  conferenceId: string,
  seasonId: string,
  only?: string,
): Promise<LetterSeason | null> {
  for (;;) {
    const season = await readOnce(pool, results, conferenceId, seasonId, only);
    if (!season) return null;
    if ((await readGrounds(pool, conferenceId, seasonId)) === season.grounds) return season;
  }
}

async function readGrounds(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<string | undefined> {
  const { rows } = await db.query<{ grounds: string }>(
    `SELECT (${groundsOfFigures})::text AS grounds FROM season s WHERE s.conference_id = $1 AND s.id = $2`,
    [conferenceId, seasonId],
  );
  return rows[0]?.grounds;
}

async function readOnce(
  pool: pg.Pool,
  results: SeasonResults,
  conferenceId: string,
  seasonId: string,
  only: string | undefined,
): Promise<LetterSeason | null> {
  const { rows } = await pool.query<{
    revision: string;
    grounds: string;
    readAt: Date;
    name: string;
    conference: string;
    policyText: string;
    replyDays: number;
    games: number;
    weeks: number | null;
    throughWeek: number | null;
  }>(
    `SELECT s.input_revision AS revision, (${groundsOfFigures})::text AS grounds, now() AS "readAt", s.name, c.name AS conference,
            c.policy_text AS "policyText", c.reply_days AS "replyDays",
            (SELECT count(*)::int FROM game g WHERE g.conference_id = $1 AND g.season_id = $2) AS games,
            (SELECT max(week) FROM game g WHERE g.conference_id = $1 AND g.season_id = $2) AS weeks,
            (SELECT max(g.week) FROM report r JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
              WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released') AS "throughWeek"
       FROM season s JOIN conference c ON c.id = s.conference_id
      WHERE s.conference_id = $1 AND s.id = $2`,
    [conferenceId, seasonId],
  );
  const row = rows[0];
  if (!row) return null;
  const counts = groupBy(await readSeasonCounts(pool, conferenceId, seasonId, only), (row) => row.personId);
  const standingsByKind = await results.allStandingsOf(conferenceId, seasonId);
  const patterns = await results.patternsOf(conferenceId, seasonId);
  return {
    conferenceId,
    seasonId,
    inputRevision: Number(row.revision),
    grounds: row.grounds,
    readAt: row.readAt,
    conference: { name: row.conference, policyText: row.policyText, replyDays: row.replyDays },
    season: { name: row.name, games: row.games, weeks: row.weeks, throughWeek: row.throughWeek },
    people: await readOfficials(pool, conferenceId),
    crews: await readCrews(pool, conferenceId, seasonId),
    counts,
    totals: await readDutyTotals(pool, conferenceId, seasonId),
    standings: standingsByKind.whole,
    standingsByKind,
    patterns,
    duties: await readDuties(pool, conferenceId, seasonId),
    marks: (await readMarks(pool, conferenceId, seasonId)).filter((mark) => mark.whyNotCounted === null),
    shares: await readOfficialShares(pool, { conferenceId, seasonId }),
    raised: await readRaised(pool, results, conferenceId, seasonId, patterns.spread),
    rules: await knowledgeLines(pool, conferenceId, seasonId),
  };
}

async function readOfficials(db: Queryable, conferenceId: string) {
  const { rows } = await db.query<{ id: string; name: string; email: string }>(
    `SELECT id, given_name || ' ' || family_name AS name, email FROM person WHERE conference_id = $1`,
    [conferenceId],
  );
  return new Map(rows.map(({ id, name, email }) => [id, { name, email }]));
}

async function readCrews(db: Queryable, conferenceId: string, seasonId: string) {
  const { rows } = await db.query<{ personId: string; name: string }>(
    `SELECT m.person_id AS "personId", min(c.name) AS name
       FROM crew c JOIN crew_member m ON m.conference_id = c.conference_id AND m.crew_id = c.id
      WHERE c.conference_id = $1 AND c.season_id = $2 GROUP BY m.person_id`,
    [conferenceId, seasonId],
  );
  return new Map(rows.map(({ personId, name }) => [personId, name]));
}

/** Chances marked in a season's released reports, or in one game's, in the order of plays; each once. */
export async function readMarks(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  gameId: string | null = null,
): Promise<SeasonMark[]> {
  const chances = (await readMarkedChances(db, { conferenceId, seasonId, gameId })).filter(
    ({ finding }) => finding !== 'done' && effectOf(finding) !== 'not counted',
  );
  const { rows } = await db.query<
    Pick<SeasonMark, 'game' | 'week' | 'day' | 'filmLink' | 'filmSeconds' | 'playNumber'> &
      PlayColumns & { playId: string }
  >(
    `SELECT p.id AS "playId", teams.title AS game, g.week,
            to_char(g.kickoff AT TIME ZONE v.time_zone, 'YYYY-MM-DD') AS day,
            g.film_link AS "filmLink", p.film_seconds AS "filmSeconds", p.number AS "playNumber",
            p.kind, p.spot, p.quarter, p.clock_seconds, p.down, p.distance, p.facts
       FROM play p
       JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE p.conference_id = $1 AND p.id = ANY ($2)`,
    [conferenceId, [...new Set(chances.map(({ playId }) => playId))]],
  );
  const plays = new Map(rows.map((row) => [row.playId, { ...row, play: playOf(row) }]));
  return chances.flatMap((chance) => {
    const on = plays.get(chance.playId);
    if (!on) return [];
    const { personId, position, dutyKey, finding, consequence, gameId, playId } = chance;
    return [
      {
        personId,
        position,
        dutyKey,
        finding,
        consequence,
        whyNotCounted: whyChanceNotCounted(chance),
        comment: remarkInWords(chance),
        gameId,
        playId,
        game: on.game,
        week: on.week,
        day: on.day,
        filmLink: on.filmLink,
        filmSeconds: on.filmSeconds,
        playNumber: on.playNumber,
        play: on.play,
      },
    ];
  });
}

async function readRaised(
  db: Queryable,
  results: SeasonResults,
  conferenceId: string,
  seasonId: string,
  spread: OfficialSpread,
): Promise<RaisedPoint[]> {
  const { rows } = await db.query<Omit<RaisedPoint, 'followUp'>>(
    `SELECT DISTINCT ON (p.id) p.person_id AS "personId", p.position, p.duty_key AS "dutyKey",
            p.situation_cut AS "situationCut", to_char(s.happened_on, 'YYYY-MM-DD') AS on, s.kind
       FROM development_point p
       JOIN development_step s ON s.conference_id = p.conference_id AND s.point_id = p.id
      WHERE p.conference_id = $1 AND p.season_id = $2 AND s.kind IN ('conversation', 'letter')
      ORDER BY p.id, s.happened_on`,
    [conferenceId, seasonId],
  );
  if (rows.some((row) => row.situationCut !== '')) await results.cutsUpToDate(conferenceId, seasonId);
  const raised: RaisedPoint[] = [];
  for (const row of rows) {
    const counts = await readPointCounts(db, { conferenceId, seasonId, ...row }, spread);
    raised.push({ ...row, followUp: followedSince(counts, row.personId, row.on) });
  }
  return raised;
}
