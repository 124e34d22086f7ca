import type { Queryable } from '../../database/transaction.ts';
import { type Consequence, findingInWords } from '../../duties/consequence.ts';
import type { Finding } from '../../duties/finding.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { situationCuts } from '../../patterns/situation-cuts.ts';
import { readMarkedChances } from '../marked-chances.ts';
import { remarkInWords } from '../remark-words.ts';
import type { DutyAtPosition } from './pattern-counts.ts';

/** A play that a pattern or strength rests on, with what its observers wrote: once, however many marked it. */
interface PatternPlay {
  observationId: string;
  observers: number;
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
  consequence: Consequence | null;
  /** The finding with what it cost, in words. */
  said: string;
  comment: string;
}

/**
 * The plays behind a count, in order of the season: those where the official did not meet the duty, or (`model`)
 * those marked worth showing. Released reports only, as the counts are.
 */
export async function readPatternPlays(
  db: Queryable,
  of: DutyAtPosition & { personId: string },
  which: 'not met' | 'model',
): Promise<PatternPlay[]> {
  const marks = (await readMarkedChances(db, of)).filter((chance) =>
    which === 'model' ? chance.outcome === 'met' && chance.finding === 'model' : chance.outcome === 'missed',
  );
  // A second query by id: joined in one, the plan without statistics reads every play of the conference.
  const { rows } = await db.query<
    Omit<PatternPlay, 'finding' | 'consequence' | 'said' | 'comment' | 'observationId' | 'observers'> & {
      facts: PlayColumns;
    }
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
    [of.conferenceId, marks.map((mark) => mark.playId)],
  );
  const markOn = new Map(marks.map((mark) => [mark.playId, mark]));
  const cut = situationCuts.find(({ key }) => key === of.situationCut);
  return rows
    .filter((row) => of.situationCut === '' || cut?.decide(playOf(row.facts)) === true)
    .map(({ facts: _facts, ...play }) => {
      const chance = markOn.get(play.playId)!;
      const { finding, consequence, observers, observationIds } = chance;
      return {
        ...play,
        observationId: observationIds[0]!,
        observers,
        finding,
        consequence,
        said: findingInWords(finding, consequence),
        comment: remarkInWords(chance),
      };
    });
}
