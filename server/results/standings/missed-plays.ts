import type { Queryable } from '../../database/transaction.ts';
import type { Consequence } from '../../duties/consequence.ts';
import type { Finding } from '../../duties/finding.ts';
import { playInWords } from '../../football/play-in-words.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { readMarkedChances } from '../marked-chances.ts';
import { remarkInWords } from '../remark-words.ts';

/** A missed chance that took points off a grade, with its play: once, however many observers marked it. */
export interface MissedPlay {
  dutyKey: string;
  finding: Finding;
  consequence: Consequence | null;
  /** How many observers marked it. */
  observers: number;
  /** What they wrote, in one; of several observers it says so. */
  comment: string;
  week: number;
  gameId: string;
  game: string;
  playId: string;
  number: number;
  /** When, where and what kind of play it was. */
  inWords: string;
}

/** An official's missed chances, in one position of a season, in the order of play. */
export async function readMissedPlays(
  db: Queryable,
  of: { conferenceId: string; seasonId: string; personId: string; position: string },
): Promise<MissedPlay[]> {
  const missed = (await readMarkedChances(db, of)).filter(({ outcome }) => outcome === 'missed');
  const { rows } = await db.query<
    Pick<MissedPlay, 'week' | 'gameId' | 'game' | 'playId' | 'number'> & PlayColumns
  >(
    `SELECT g.week, g.id AS "gameId", teams.title AS game, p.id AS "playId", p.number, p.kind, p.spot, p.quarter,
            p.clock_seconds, p.down, p.distance, p.facts
       FROM play p
       JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE p.conference_id = $1 AND p.id = ANY ($2)`,
    [of.conferenceId, missed.map(({ playId }) => playId)],
  );
  const plays = new Map(rows.map((row) => [row.playId, row]));
  return missed.flatMap((chance) => {
    const row = plays.get(chance.playId);
    if (!row) return [];
    const { week, gameId, game, playId, number } = row;
    const { dutyKey, finding, consequence, observers } = chance;
    const comment = remarkInWords(chance);
    const inWords = playInWords(playOf(row));
    return [
      { dutyKey, finding, consequence, observers, comment, week, gameId, game, playId, number, inWords },
    ];
  });
}
