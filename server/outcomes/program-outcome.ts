import type { Queryable } from '../database/transaction.ts';
import { type FollowUp, verdicts } from '../patterns/follow-up/follow-up.ts';
import type { DatedCount } from '../patterns/follow-up/looks.ts';
import { followTaught } from '../patterns/follow-up/staff.ts';
import type { Program } from '../programs/program.ts';
import { readProgram } from '../programs/stores/program-rows.ts';
import { type FollowUpWords, followUpWords } from '../results/patterns/follow-up-words.ts';
import { readDatedCounts } from '../results/patterns/pattern-counts.ts';
import { type ByAttendance, byAttendance, readAttendance } from './attended.ts';
import { type QuestionsFound, readQuestions } from './questions.ts';
import {
  readChangedDuties,
  readTaughtDuties,
  readTeaching,
  seasonAfter,
  type Teaching,
} from './taught-duties.ts';

export { verdicts };

/** A duty that a program taught, with the staff's misses before and after. */
export interface DutyOutcome {
  readonly key: string;
  readonly title: string;
  readonly followUp: FollowUp;
  readonly words: FollowUpWords;
  /** The season after defines it otherwise, so that both sides are not quite of one thing. */
  readonly changed: boolean;
  /** Null where a group is too small to be told without telling of single officials. */
  readonly byAttendance: ByAttendance | null;
}

export interface ProgramOutcome {
  readonly program: Program;
  /** Null before the first release. */
  readonly teaching: Teaching | null;
  /** Whose misses are followed, in words; null where the program is not for officials. */
  readonly whose: string | null;
  /** The season whose games count as after; null while no such game is scheduled. */
  readonly after: { readonly id: string; readonly name: string } | null;
  readonly duties: readonly DutyOutcome[];
  /** Null where there is no question, or nothing was released. */
  readonly questions: QuestionsFound | null;
}

/**
 * The staff's misses of each duty that a program taught, before and after, from released reports: the counts that patterns
 * and standings use. After is the rest of the season in which it was taught, or all of the next where it was taught between.
 *
 * @throws Problem 404 when the conference has no such program
 */
export async function readProgramOutcome(
  db: Queryable,
  { conferenceId, timeZone }: { readonly conferenceId: string; readonly timeZone: string },
  programId: string,
): Promise<ProgramOutcome> {
  const program = await readProgram(db, conferenceId, programId);
  const teaching = await readTeaching(db, conferenceId, program, timeZone);
  const whose = whoseInWords(program);
  const nothing = {
    program,
    teaching,
    whose,
    after: null,
    duties: [],
    questions: await readQuestions(db, conferenceId, programId),
  };
  if (!teaching || whose === null) return nothing;
  const { duties } = await readTaughtDuties(db, conferenceId, program);
  const after = await seasonAfter(db, conferenceId, teaching.from);
  const { rows, lastWeek } = await countsAround(
    db,
    conferenceId,
    program.seasonId,
    after?.id ?? program.seasonId,
  );
  const changed = await readChangedDuties(db, conferenceId, program.seasonId, after?.id ?? program.seasonId);
  const attendance = await readAttendance(db, conferenceId, programId);
  const followed = rows.filter(followedBy(program));
  const found = followTaught({
    rows,
    duties: new Set(duties.keys()),
    ...teaching,
    lastWeek,
    of: followedBy(program),
  });
  return {
    ...nothing,
    after,
    duties: [...duties.values()]
      .map(({ key, title }) => {
        const followUp = found.get(key)!;
        return {
          key,
          title,
          followUp,
          words: followUpWords(followUp),
          changed: changed.has(key),
          byAttendance: byAttendance(
            followed.filter(({ duty }) => duty === key),
            attendance,
            teaching,
          ),
        };
      })
      .sort((a, b) => b.followUp.before.events - a.followUp.before.events || (a.title < b.title ? -1 : 1)),
  };
}

/** Counts of the program's season and of that after it, weeks counted on from one to the other. */
async function countsAround(db: Queryable, conferenceId: string, seasonId: string, afterId: string) {
  const seasons = seasonId === afterId ? [seasonId] : [seasonId, afterId];
  const rows: DatedCount[] = [];
  let weeksBefore = 0;
  for (const id of seasons) {
    const { rows: weeks } = await db.query<{ last: number }>(
      'SELECT coalesce(max(week), 0)::int AS last FROM game WHERE conference_id = $1 AND season_id = $2',
      [conferenceId, id],
    );
    const own = await readDatedCounts(db, conferenceId, id);
    for (const row of own) rows.push({ ...row, week: row.week + weeksBefore });
    weeksBefore += weeks[0]!.last;
  }
  return { rows, lastWeek: weeksBefore };
}

function whoseInWords({ audience, audiencePosition }: Program): string | null {
  if (audience === 'observers') return null;
  return audience === 'position'
    ? `the ${audiencePosition}s of all crews`
    : audience === 'crew'
      ? 'the crew it is for'
      : 'all officials';
}

const followedBy =
  ({ audience, audiencePosition, audienceCrewId }: Program) =>
  (row: DatedCount): boolean =>
    audience === 'position'
      ? row.position === audiencePosition
      : audience === 'crew'
        ? row.crew === audienceCrewId
        : true;
