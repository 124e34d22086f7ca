import type { Queryable } from '../../database/transaction.ts';
import type { Play } from '../../football/play.ts';
import type { Position } from '../../football/positions.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { openInquiryStates } from '../../schedule/open-states.ts';
import { usualSeconds } from '../../training/running-time.ts';
import { readDefaultCuts } from './default-cuts.ts';

/** Where a play is from, and what was logged of it. For the coordinator: it names teams and crew. */
export interface PlayFacts {
  readonly playId: string;
  readonly gameId: string;
  readonly game: string;
  readonly week: number;
  readonly number: number;
  readonly crewId: string | null;
  readonly crew: string | null;
  readonly teamIds: readonly [string, string];
  /** Who worked the game, by position. */
  readonly officials: Readonly<Partial<Record<Position, string>>>;
  readonly play: Play;
  readonly filmLink: string | null;
  readonly filmSeconds: number | null;
  /** A film of its game is on this server, and it can be placed in it: it can be cut. */
  readonly filmHere: boolean;
  /** An official's reply to a mark on it waits for its ruling, or a team's inquiry for its answer. */
  readonly openReply: boolean;
  /** It is a reply that waits. */
  readonly replyWaits: boolean;
  /** What a team asked about it and the conference took: of several one that waits for its answer, else the last. */
  readonly inquiry: { readonly id: string; readonly waits: boolean } | null;
}

type Row = Omit<PlayFacts, 'play' | 'teamIds' | 'filmHere'> &
  PlayColumns & { home: string; visitor: string; gameHasFilm: boolean };

/** Plays by their ids, as their logs have them now; those removed from a log are not there. */
export async function readPlayFacts(
  db: Queryable,
  conferenceId: string,
  playIds: readonly string[],
): Promise<Map<string, PlayFacts>> {
  const { rows } = await db.query<Row>(
    `SELECT l.id AS "playId", l.game_id AS "gameId", t.title AS game, g.week, l.number, g.crew_id AS "crewId",
            c.name AS crew, g.home_team_id AS home, g.visiting_team_id AS visitor, l.kind, l.spot, l.quarter,
            l.clock_seconds, l.down, l.distance, l.facts, g.film_link AS "filmLink", l.film_seconds AS "filmSeconds",
            (SELECT coalesce(jsonb_object_agg(w.position, w.person_id), '{}') FROM working_crew_member w
              WHERE w.conference_id = $1 AND w.game_id = g.id) AS officials,
            EXISTS (SELECT FROM film f WHERE f.conference_id = $1 AND f.game_id = g.id AND f.state = 'ready'
                       AND f.source <> 'link') AS "gameHasFilm",
            ${waits('l.id')} AS "openReply", ${replyWaits('l.id')} AS "replyWaits",
            (SELECT jsonb_build_object('id', i.id, 'waits', i.state IN ${openInquiryStates}) FROM inquiry i
              WHERE i.conference_id = $1 AND i.play_id = l.id AND i.state NOT IN ('draft', 'sent back')
              ORDER BY i.state IN ${openInquiryStates} DESC, i.received_at DESC LIMIT 1) AS inquiry
       FROM unnest($2::uuid[]) AS wanted (id)
       JOIN play l ON l.conference_id = $1 AND l.id = wanted.id AND l.removed_at IS NULL
       JOIN game g ON g.conference_id = $1 AND g.id = l.game_id
       JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
       LEFT JOIN crew c ON c.conference_id = $1 AND c.id = g.crew_id`,
    [conferenceId, playIds],
  );
  const { before: secondsBefore, after: secondsAfter } = usualSeconds;
  const cuts = await readDefaultCuts(
    db,
    conferenceId,
    // Most seasons have many games without film: of those there is nothing to look up.
    rows.filter((row) => row.gameHasFilm).map((row) => ({ ...row, secondsBefore, secondsAfter })),
  );
  return new Map(
    rows.map((row) => {
      const {
        home,
        visitor,
        kind,
        spot,
        quarter,
        clock_seconds,
        down,
        distance,
        facts,
        gameHasFilm,
        ...rest
      } = row;
      const cut = cuts.get(row.playId);
      return [
        row.playId,
        {
          ...rest,
          teamIds: [home, visitor],
          play: playOf({ kind, spot, quarter, clock_seconds, down, distance, facts }),
          filmHere: gameHasFilm && cut !== undefined && 'cut' in cut,
        },
      ];
    }),
  );
}

/** The game of a play that its log still has; else undefined. */
export async function gameOfLoggedPlay(
  db: Queryable,
  conferenceId: string,
  playId: string,
): Promise<string | undefined> {
  const { rows } = await db.query<{ gameId: string }>(
    'SELECT game_id AS "gameId" FROM play WHERE conference_id = $1 AND id = $2 AND removed_at IS NULL',
    [conferenceId, playId],
  );
  return rows[0]?.gameId;
}

/** SQL: whether a reply to a mark on the play waits for its ruling; $1 is the conference. */
const replyWaits = (playId: string) => `EXISTS (
  SELECT FROM observation o JOIN reply y ON y.conference_id = o.conference_id AND y.observation_id = o.id
   WHERE o.conference_id = $1 AND o.play_id = ${playId}
     AND NOT EXISTS (SELECT FROM ruling u WHERE u.conference_id = $1 AND u.reply_id = y.id))`;

/** SQL: whether a reply waits for its ruling, or a team for an answer; $1 is the conference. */
const waits = (playId: string) => `(${replyWaits(playId)} OR EXISTS (
  SELECT FROM inquiry i WHERE i.conference_id = $1 AND i.play_id = ${playId} AND i.state IN ${openInquiryStates}))`;

/** Of these plays those with a reply that waits. With `hold`, none can get one until the transaction ends. */
export async function playsWithOpenReply(
  client: Queryable,
  conferenceId: string,
  playIds: readonly string[],
  hold: 'hold' | null = null,
): Promise<string[]> {
  // Who replies locks the mark first, and a team that asks the play: after this, every reply and inquiry is either there
  // to be seen, or waits.
  if (hold)
    for (const rows of [
      'observation WHERE conference_id = $1 AND play_id = ANY ($2::uuid[])',
      'play WHERE conference_id = $1 AND id = ANY ($2::uuid[])',
    ])
      await client.query(`SELECT FROM ${rows} ORDER BY id FOR SHARE`, [conferenceId, playIds]);
  const { rows } = await client.query<{ id: string }>(
    `SELECT wanted.id FROM unnest($2::uuid[]) WITH ORDINALITY AS wanted (id, place)
      WHERE ${waits('wanted.id')} ORDER BY wanted.place`,
    [conferenceId, playIds],
  );
  return rows.map(({ id }) => id);
}

/** Plays of a season on which the coordinator changed a mark after a reply. */
export async function playsWithChangedRuling(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<{ playId: string; personId: string; dutyKey: string }[]> {
  const { rows } = await db.query<{ playId: string; personId: string; dutyKey: string }>(
    `SELECT DISTINCT o.play_id AS "playId", o.person_id AS "personId", o.duty_key AS "dutyKey"
       FROM report r
       JOIN observation o ON o.conference_id = r.conference_id AND o.report_id = r.id AND o.removed_at IS NULL
       JOIN reply y ON y.conference_id = o.conference_id AND y.observation_id = o.id
       JOIN ruling u ON u.conference_id = y.conference_id AND u.reply_id = y.id AND u.ruling = 'changed'
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'`,
    [conferenceId, seasonId],
  );
  return rows;
}

/** Plays of a season about which a team asked something that the conference took; with an answer or still without. */
export async function playsAskedAbout(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ReadonlySet<string>> {
  const { rows } = await db.query<{ id: string }>(
    `SELECT DISTINCT play_id AS id FROM inquiry
      WHERE conference_id = $1 AND season_id = $2 AND play_id IS NOT NULL AND state NOT IN ('draft', 'sent back')`,
    [conferenceId, seasonId],
  );
  return new Set(rows.map(({ id }) => id));
}

/** How many crews, positions, weeks and teams a season's games with released reports have. */
export async function readAvailable(db: Queryable, conferenceId: string, seasonId: string) {
  const { rows } = await db.query<{ crews: number; positions: number; weeks: number; teams: number }>(
    `WITH games AS MATERIALIZED (
       SELECT g.* FROM game g WHERE g.conference_id = $1 AND g.season_id = $2
          AND EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.game_id = g.id AND r.state = 'released'))
     SELECT count(DISTINCT crew_id)::int AS crews, count(DISTINCT week)::int AS weeks,
            (SELECT count(DISTINCT t)::int FROM games x, unnest(ARRAY[x.home_team_id, x.visiting_team_id]) t) AS teams,
            (SELECT count(DISTINCT w.position)::int FROM games x
               JOIN working_crew_member w ON w.conference_id = $1 AND w.game_id = x.id) AS positions
       FROM games`,
    [conferenceId, seasonId],
  );
  return rows[0]!;
}
