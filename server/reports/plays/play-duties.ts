import type { Database } from '../../database/database.ts';
import { type CrewAtWork, compileRubric } from '../../duties/opportunities.ts';
import { type WhoOwedWhat, whoOwedWhat } from '../../duties/who-owed-what.ts';
import type { Play } from '../../football/play.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { type CrewMember, crewAtWork } from '../../games/working-crew.ts';
import { readRubric } from '../../rubric/rubric-store.ts';
import { notFound } from '../../web/problem.ts';
import { workingCrew } from '../filing/report-material.ts';

export interface PlayDuties extends WhoOwedWhat {
  readonly playId: string;
  readonly number: number;
  readonly note: string;
  readonly play: Play;
  readonly seasonId: string;
  readonly rubricNumber: number;
  readonly crew: CrewAtWork;
  readonly members: readonly CrewMember[];
}

/**
 * Who owed what on one play of a game, by the season's newest rubric and who worked the game.
 * @throws Problem 404 when the game has no such play or the season no rubric.
 */
export async function readPlayDuties(
  { pool }: Database,
  conferenceId: string,
  gameId: string,
  playId: string,
): Promise<PlayDuties> {
  const { rows } = await pool.query<PlayColumns & { number: number; note: string; season_id: string }>(
    `SELECT p.number, p.note, p.kind, p.spot, p.quarter, p.clock_seconds, p.down, p.distance, p.facts, g.season_id
       FROM play p JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
      WHERE p.conference_id = $1 AND p.game_id = $2 AND p.id = $3 AND p.removed_at IS NULL`,
    [conferenceId, gameId, playId],
  );
  const row = rows[0];
  if (row === undefined) throw notFound('play');
  const rubric = await readRubric(pool, conferenceId, row.season_id);
  if (rubric === undefined) throw notFound('rubric');
  const members = await workingCrew(pool, conferenceId, gameId);
  const play = playOf(row);
  const crew = crewAtWork(members);
  return {
    playId,
    number: row.number,
    note: row.note,
    play,
    seasonId: row.season_id,
    rubricNumber: rubric.number,
    crew,
    members,
    ...whoOwedWhat(play, crew, compileRubric(rubric.duties)),
  };
}
