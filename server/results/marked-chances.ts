import type { Queryable } from '../database/transaction.ts';
import { type Consequence, consequenceRank } from '../duties/consequence.ts';
import { effectOf, type Finding } from '../duties/finding.ts';
import type { MarkStanding } from '../duties/mark-standing.ts';
import type { Position } from '../football/positions.ts';
import { groupsOf } from '../grading/group-by.ts';

/** What the marks on one chance come to, as its game counts it (`countGame`). */
type Outcome = 'missed' | 'met' | 'judged differently' | 'not counted';

/** One chance of a game that somebody marked in a released report: all that was said of it, once. */
export interface MarkedChance {
  personId: string;
  position: Position;
  dutyKey: string;
  gameId: string;
  /** The play of the first mark: a duty of the whole game may be marked on several. */
  playId: string;
  outcome: Outcome;
  /** Of those that made the outcome, the one that cost most; else the first. */
  finding: Finding;
  consequence: Consequence | null;
  /** How many observers marked it. Who they are is told to nobody. */
  observers: number;
  /** What they wrote, each their own; none empty. */
  remarks: string[];
  /** Why none of its marks counts, when none does. */
  standing: MarkStanding | null;
  observationIds: string[];
}

/** A part of a season or game; at least one of the two. */
interface ChancesAsked {
  conferenceId: string;
  seasonId?: string | null;
  gameId?: string | null;
  personId?: string | null;
  position?: string | null;
  dutyKey?: string | null;
}

interface MarkRow {
  id: string;
  reportId: string;
  gameId: string;
  playId: string;
  chance: string;
  personId: string;
  position: Position;
  dutyKey: string;
  finding: Finding;
  consequence: Consequence | null;
  comment: string;
  standing: MarkStanding | null;
}

/** The marked chances of released reports, in the order of play. */
export async function readMarkedChances(db: Queryable, of: ChancesAsked): Promise<MarkedChance[]> {
  const { rows } = await db.query<MarkRow>(
    `SELECT o.id, r.id AS "reportId", r.game_id AS "gameId", o.play_id AS "playId",
            CASE WHEN d.definition ->> 'per' = 'game' THEN 'game' ELSE o.play_id::text END AS chance,
            o.person_id AS "personId", o.position, o.duty_key AS "dutyKey", o.finding, o.consequence, o.comment,
            o.standing
       FROM report r
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN observation o ON o.conference_id = r.conference_id AND o.report_id = r.id AND o.removed_at IS NULL
       JOIN play p ON p.conference_id = o.conference_id AND p.id = o.play_id AND p.removed_at IS NULL
       LEFT JOIN duty d ON d.conference_id = r.conference_id AND d.rubric_version_id = r.rubric_version_id
                       AND d.key = o.duty_key
      WHERE r.conference_id = $1 AND r.state = 'released' AND ($2::uuid IS NULL OR r.season_id = $2)
        AND ($3::uuid IS NULL OR r.game_id = $3) AND ($4::uuid IS NULL OR o.person_id = $4)
        AND ($5::text IS NULL OR o.position = $5) AND ($6::text IS NULL OR o.duty_key = $6)
      ORDER BY g.week, g.kickoff, g.key, p.number, o.id`,
    [
      of.conferenceId,
      of.seasonId ?? null,
      of.gameId ?? null,
      of.personId ?? null,
      of.position ?? null,
      of.dutyKey ?? null,
    ],
  );
  return groupsOf(rows, (row) =>
    [row.gameId, row.chance, row.personId, row.position, row.dutyKey].join(' '),
  ).map(chanceOf);
}

function chanceOf(marks: readonly MarkRow[]): MarkedChance {
  // Of several marks in one report the graver one counts, so the first of each kind among reports decides.
  const counted = groupsOf(
    marks.filter(({ standing }) => standing === null || standing === 'counted'),
    (mark) => mark.reportId,
  ).map(
    (own) =>
      own.find(({ finding }) => effectOf(finding) === 'not met') ??
      own.find(({ finding }) => effectOf(finding) === 'met') ??
      own[0]!,
  );
  const missed = counted.filter(({ finding }) => effectOf(finding) === 'not met');
  const met = counted.filter(({ finding }) => effectOf(finding) === 'met');
  const outcome: Outcome =
    missed.length > 0
      ? met.length > 0
        ? 'judged differently'
        : 'missed'
      : met.length > 0
        ? 'met'
        : 'not counted';
  const model = met.filter(({ finding }) => finding === 'model');
  const [chief] = [
    ...missed.toSorted((a, b) => consequenceRank(b.consequence) - consequenceRank(a.consequence)),
    ...model,
    ...met,
    ...marks,
  ];
  const { personId, position, dutyKey, gameId, playId } = marks[0]!;
  return {
    personId,
    position,
    dutyKey,
    gameId,
    playId,
    outcome,
    finding: chief!.finding,
    consequence: chief!.consequence,
    observers: new Set(marks.map(({ reportId }) => reportId)).size,
    remarks: marks.map(({ comment }) => comment.trim()).filter((comment) => comment !== ''),
    standing: counted.length > 0 ? null : chief!.standing,
    observationIds: marks.map(({ id }) => id),
  };
}
