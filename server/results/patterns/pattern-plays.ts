import type { Queryable } from '../../database/transaction.ts';
import type { Finding } from '../../duties/finding.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { situationCuts } from '../../patterns/situation-cuts.ts';
import { countedReports, type DutyAtPosition } from './pattern-counts.ts';

/** A play that a pattern or strength rests on, with what its observer wrote. */
export interface PatternPlay {
  observationId: string;
  playId: string;
  gameId: string;
  week: number;
  home: string;
  visitor: string;
  number: number;
  kind: string;
  spot: number;
  quarter: number | null;
  clockSeconds: number | null;
  down: number | null;
  distance: number | null;
  filmSeconds: number | null;
  filmLink: string | null;
  finding: Finding;
  comment: string;
}

/**
 * The plays behind a count, in order of the season: those where the official did not meet the duty, or (`model`)
 * those marked worth showing. Released reports only, the same ones that the counts are taken from.
 */
export async function readPatternPlays(
  db: Queryable,
  of: DutyAtPosition & { personId: string },
  which: 'not met' | 'model',
): Promise<PatternPlay[]> {
  const findings = which === 'model' ? ['model'] : ['missed', 'wrong call', 'missed foul'];
  const marks = await db.query<{ id: string; playId: string; finding: Finding; comment: string }>(
    `WITH counted AS MATERIALIZED (${countedReports('c.person_id = $3')})
     SELECT o.id, o.play_id AS "playId", o.finding, o.comment
       FROM observation o JOIN counted k ON k.report_id = o.report_id
      WHERE o.conference_id = $1 AND o.person_id = $3 AND o.duty_key = $4 AND o.position = $5
        AND o.finding = ANY ($6) AND o.removed_at IS NULL`,
    [of.conferenceId, of.seasonId, of.personId, of.dutyKey, of.position, findings],
  );
  // A second query by id: joined in one, the plan without statistics reads every play of the conference.
  const { rows } = await db.query<
    Omit<PatternPlay, 'finding' | 'comment' | 'observationId'> & { facts: PlayColumns }
  >(
    `SELECT p.id AS "playId", g.id AS "gameId", g.week, teams.home, teams.visitor,
            p.number, p.kind, p.spot, p.quarter, p.clock_seconds AS "clockSeconds", p.down, p.distance,
            p.film_seconds AS "filmSeconds", g.film_link AS "filmLink",
            jsonb_build_object('kind', p.kind, 'spot', p.spot, 'quarter', p.quarter, 'clock_seconds', p.clock_seconds,
                               'down', p.down, 'distance', p.distance, 'facts', p.facts) AS facts
       FROM play p
       JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE p.conference_id = $1 AND p.id = ANY ($2) AND p.removed_at IS NULL
      ORDER BY g.week, g.kickoff, p.number`,
    [of.conferenceId, marks.rows.map((mark) => mark.playId)],
  );
  const markOn = new Map(marks.rows.map((mark) => [mark.playId, mark]));
  const cut = situationCuts.find(({ key }) => key === of.situationCut);
  return rows
    .filter((row) => of.situationCut === '' || cut?.decide(playOf(row.facts)) === true)
    .map(({ facts: _facts, ...play }) => {
      const { id, finding, comment } = markOn.get(play.playId)!;
      return { ...play, observationId: id, finding, comment };
    });
}
