import type { Queryable } from '../../database/transaction.ts';
import { effectOf, type Finding, findings } from '../../duties/finding.ts';
import { playInWords } from '../../football/play-in-words.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';

/** A mark in a released report that took points off a grade, with its play. */
export interface MissedPlay {
  dutyKey: string;
  finding: Finding;
  comment: string;
  week: number;
  gameId: string;
  game: string;
  playId: string;
  number: number;
  /** When, where and what kind of play it was. */
  inWords: string;
}

/** An official's marks that were not met, in one position of a season, in the order of play. */
export async function readMissedPlays(
  db: Queryable,
  of: { conferenceId: string; seasonId: string; personId: string; position: string },
): Promise<MissedPlay[]> {
  const { rows } = await db.query<Omit<MissedPlay, 'inWords'> & PlayColumns>(
    `SELECT o.duty_key AS "dutyKey", o.finding, o.comment, g.week, g.id AS "gameId",
            teams.title AS game, p.id AS "playId", p.number, p.kind, p.spot, p.quarter,
            p.clock_seconds, p.down, p.distance, p.facts
       FROM report r
       JOIN observation o ON o.conference_id = r.conference_id AND o.report_id = r.id
       JOIN play p ON p.conference_id = o.conference_id AND p.id = o.play_id
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released' AND o.person_id = $3
        AND o.position = $4 AND o.removed_at IS NULL AND p.removed_at IS NULL AND o.finding = ANY ($5)
      ORDER BY g.week, g.kickoff, p.number, o.id`,
    [
      of.conferenceId,
      of.seasonId,
      of.personId,
      of.position,
      findings.filter((finding) => effectOf(finding) === 'not met'),
    ],
  );
  return rows.map((row) => {
    const { dutyKey, finding, comment, week, gameId, game, playId, number } = row;
    const inWords = playInWords(playOf(row));
    return { dutyKey, finding, comment, week, gameId, game, playId, number, inWords };
  });
}
