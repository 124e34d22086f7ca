import { compileRubric, opportunitiesOf } from '../../server/duties/opportunities.ts';
import type { Watched } from '../../server/duties/watched.ts';
import { crewAtWork } from '../../server/games/working-crew.ts';
import { playLog, workingCrew } from '../../server/reports/filing/counted-material.ts';
import { readCountedRubric } from '../../server/rubric/read-rubric.ts';
import type { DemoDatabase } from './demo-database.ts';

/** A row of `game_count`, by its columns. */
export type GameFigures = Record<string, string | number>;

/**
 * What a game counts, from its plays and marks alone and written apart from the program's way of counting: who owed
 * what on each play, and for each chance the words that were said of it.
 */
export async function gameFromMarks(
  { conferenceId, pool }: Pick<DemoDatabase, 'conferenceId' | 'pool'>,
  gameId: string,
  versionId: string,
): Promise<GameFigures[]> {
  const plays = await playLog(pool, conferenceId, gameId);
  const members = await workingCrew(pool, conferenceId, gameId);
  const { duties, practices } = await readCountedRubric(pool, conferenceId, versionId);
  const rubric = compileRubric(duties, practices);
  const crew = crewAtWork(members);
  const { rows: marks } = await pool.query<{
    report: string;
    play: string;
    position: string;
    duty: string;
    finding: string;
    consequence: string | null;
  }>(
    `SELECT o.report_id AS report, o.play_id AS play, o.position, o.duty_key AS duty, o.finding, o.consequence
       FROM observation o JOIN report r ON r.id = o.report_id
      WHERE r.game_id = $1 AND r.state = 'released' AND o.removed_at IS NULL AND o.standing = 'counted'`,
    [gameId],
  );
  // Of which duties the log says enough is the report's to tell.
  const { rows: told } = await pool.query<{ report: string; at: string; watched: Watched }>(
    `SELECT r.id AS report, c.position || '|' || c.duty_key AS at, r.watched
       FROM opportunity_count c JOIN report r ON r.id = c.report_id
      WHERE r.game_id = $1 AND r.state = 'released' AND c.opportunities > 0`,
    [gameId],
  );
  const reportsWith = new Map<string, typeof told>();
  for (const row of told) reportsWith.set(row.at, [...(reportsWith.get(row.at) ?? []), row]);
  const numberOf = new Map(plays.map(({ id, number }) => [id, number]));
  /** The last range that holds the play says who was watched on it; without one, the report does. */
  const seenBy = ({ watched }: (typeof told)[number], playId: string, position: string) => {
    const at = numberOf.get(playId)!;
    const range = watched.stretches.findLast(
      ({ from, to }) => (!from || numberOf.get(from)! <= at) && (!to || at <= numberOf.get(to)!),
    );
    return (range ?? watched).positions.some((one) => one === position);
  };
  const ofGame = new Set(duties.filter(({ per }) => per === 'game').map(({ key }) => key));
  const said = new Map<string, typeof marks>();
  for (const mark of marks) {
    const at = `${ofGame.has(mark.duty) ? '' : mark.play}|${mark.position}|${mark.duty}`;
    said.set(at, [...(said.get(at) ?? []), mark]);
  }
  const counts = new Map<string, GameFigures>();
  const chance = (at: string, position: string, duty: string) => {
    const [playId = ''] = at.split('|');
    const reports = reportsWith.get(`${position}|${duty}`) ?? [];
    if (!reports.some((report) => playId === '' || seenBy(report, playId, position))) return;
    const personId = members.find((member) => member.position === position)!.personId;
    const row = counts.get(`${position}|${duty}`) ?? {
      game_id: gameId,
      person_id: personId,
      position,
      duty_key: duty,
      opportunities: 0,
      not_met: 0,
      not_counted: 0,
      differed: 0,
      model: 0,
      cost_none: 0,
      cost_yards: 0,
      cost_possession: 0,
      cost_score: 0,
    };
    counts.set(`${position}|${duty}`, row);
    const add = (what: string) => {
      row[what] = Number(row[what]) + 1;
    };
    add('opportunities');
    const bad = ['missed', 'wrong call', 'missed foul'];
    const open = ['not seen', 'cannot tell'];
    const words = said.get(at) ?? [];
    const missedBy = new Set(
      words.filter(({ finding }) => bad.includes(finding)).map(({ report }) => report),
    );
    const metBy = new Set(
      words
        .filter(({ finding, report }) => ![...bad, ...open].includes(finding) && !missedBy.has(report))
        .map(({ report }) => report),
    );
    if (missedBy.size > 0 && metBy.size > 0) {
      add('not_counted');
      add('differed');
    } else if (missedBy.size > 0) {
      add('not_met');
      const worst = ['score', 'possession', 'yards', 'none'].find((cost) =>
        words.some(({ consequence }) => consequence === cost),
      );
      if (worst) add(`cost_${worst}`);
    } else if (metBy.size > 0) {
      if (words.some(({ finding }) => finding === 'model')) add('model');
    } else if (words.length > 0) add('not_counted');
  };
  for (const { id, play } of plays) {
    for (const { position, dutyKey } of opportunitiesOf(play, crew, rubric)) {
      chance(`${id}|${position}|${dutyKey}`, position, dutyKey);
    }
  }
  for (const duty of duties.filter(({ per }) => per === 'game')) {
    for (const position of crew.present) {
      if (duty.positions.includes(position)) chance(`|${position}|${duty.key}`, position, duty.key);
    }
  }
  const order = (row: GameFigures) => `${row.person_id} ${row.position} ${row.duty_key}`;
  return [...counts.values()].sort((a, b) => (order(a) < order(b) ? -1 : 1));
}
