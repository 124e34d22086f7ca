import type { Queryable } from '../../database/transaction.ts';
import { fieldOf } from '../../duties/compiled-rubric.ts';
import { type CrewAtWork, compileRubric } from '../../duties/opportunities.ts';
import { type WhoOwedWhat, whoOwedWhat } from '../../duties/who-owed-what.ts';
import type { Code } from '../../football/codes.ts';
import type { Teams } from '../../football/drawing/drawing-words.ts';
import type { Play } from '../../football/play.ts';
import type { CrewOnField } from '../../football/zones/crew-on-field.ts';
import { filmAddress } from '../../games/film-address.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { type CrewMember, crewAtWork } from '../../games/working-crew.ts';
import { requireRubric } from '../../rubric/read-rubric.ts';
import { notFound } from '../../web/problem.ts';
import { workingCrew } from '../filing/counted-material.ts';

export interface PlayDuties extends WhoOwedWhat {
  readonly playId: string;
  readonly number: number;
  readonly note: string;
  readonly play: Play;
  readonly seasonId: string;
  readonly rubricNumber: number;
  /** The game's reports were counted under that version; else it is the season's newest. */
  readonly isCounted: boolean;
  readonly crew: CrewAtWork;
  readonly members: readonly CrewMember[];
  /** Whose side and depth is whose, by who is at work and the practices kept with the rubric. */
  readonly field: CrewOnField;
  readonly code: Code;
  /** Undefined while nobody logged which team had the ball. */
  readonly teams: Teams | undefined;
  /** The film at this play's moment. */
  readonly film: string | null;
  readonly filmSeconds: number | null;
}

interface PlayRow extends PlayColumns {
  number: number;
  note: string;
  seasonId: string;
  filmSeconds: number | null;
  filmLink: string | null;
  countedUnder: number | null;
  home: string;
  visitor: string;
}

/**
 * Who owed what on one play of a game, by who worked it and the rubric version that its reports were counted under:
 * a later change of duties or practices must not tell those graded something else. By the newest version while no
 * report was filed; where two reports differ, by the newer of theirs.
 * @throws Problem 404 when the game has no such play or the season no rubric.
 */
export async function readPlayDuties(
  { pool }: { pool: Queryable },
  conferenceId: string,
  gameId: string,
  playId: string,
): Promise<PlayDuties> {
  const { rows } = await pool.query<PlayRow>(
    `SELECT p.number, p.note, p.kind, p.spot, p.quarter, p.clock_seconds, p.down, p.distance, p.facts,
            p.film_seconds AS "filmSeconds", g.film_link AS "filmLink", g.season_id AS "seasonId",
            (SELECT max(v.number) FROM report r
               JOIN rubric_version v ON v.conference_id = r.conference_id AND v.id = r.rubric_version_id
              WHERE r.conference_id = g.conference_id AND r.game_id = g.id) AS "countedUnder",
            teams.home, teams.visitor
       FROM play p
       JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE p.conference_id = $1 AND p.game_id = $2 AND p.id = $3 AND p.removed_at IS NULL`,
    [conferenceId, gameId, playId],
  );
  const row = rows[0];
  if (row === undefined) throw notFound('play');
  const rubric = await requireRubric(pool, conferenceId, row.seasonId, row.countedUnder ?? undefined);
  const members = await workingCrew(pool, conferenceId, gameId);
  const play = playOf(row);
  const crew = crewAtWork(members);
  const compiled = compileRubric(rubric.duties, rubric.practices);
  return {
    playId,
    number: row.number,
    note: row.note,
    play,
    seasonId: row.seasonId,
    rubricNumber: rubric.number,
    isCounted: row.countedUnder !== null,
    crew,
    members,
    field: fieldOf(compiled, crew),
    code: rubric.code,
    teams: teamsOf(play, row),
    film: filmAddress(row.filmLink, row.filmSeconds),
    filmSeconds: row.filmSeconds,
    ...whoOwedWhat(play, crew, compiled),
  };
}

function teamsOf({ offense }: Play, { home, visitor }: PlayRow): Teams | undefined {
  if (offense === undefined) return undefined;
  return offense === 'home' ? { offense: home, defense: visitor } : { offense: visitor, defense: home };
}
