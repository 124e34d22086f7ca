import { makeDemoSeason } from '../../seed-demo/season.ts';
import { countedChances } from '../../server/duties/counted-chances.ts';
import { usualDecidedShare } from '../../server/duties/decided-share.ts';
import { countGame } from '../../server/duties/game-counts.ts';
import { compileRubric, fullCrew } from '../../server/duties/opportunities.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { usualPractices } from '../../server/football/practices.ts';
import { groupBy } from '../../server/grading/group-by.ts';
import type { CountRow } from '../../server/patterns/counts.ts';
import { cutGame } from '../../server/results/patterns/cut-game.ts';

/** The demo season's counts and truth without a database: what releasing its reports and cutting its games gives. */
export function demoCounts(seed?: number) {
  const season = makeDemoSeason(seed);
  const rubric = compileRubric(startingRubric);
  const crew = fullCrew(8);
  const decidedShareLeast = usualDecidedShare;
  const rows: CountRow[] = [];
  const released = season.reports.filter(({ state }) => state === 'released');
  for (const [key, reports] of groupBy(released, (report) => report.game)) {
    const game = season.games.find((other) => other.key === key)!;
    const plays = (season.plays.get(key) ?? []).map(({ number, play }) => ({ id: String(number), play }));
    const marksOf = reports.map((report) =>
      report.marks.map((mark) => ({ ...mark, playId: String(mark.play) })),
    );
    const whole = countGame(
      marksOf.map((marks) => countedChances(plays, crew, { rubric, marks, decidedShareLeast })),
    );
    const cuts = cutGame({
      plays,
      crew,
      decidedShareLeast,
      reports: marksOf.map((marks) => ({
        duties: startingRubric,
        practices: usualPractices,
        marks,
        watched: null,
      })),
    });
    for (const count of [...whole.map((one) => ({ ...one, cut: null })), ...cuts]) {
      rows.push({
        official: game.workingCrew[count.position],
        position: count.position,
        crew: game.crew ?? '',
        game: key,
        week: game.week,
        observer: reports
          .map(({ observer }) => observer)
          .sort()
          .join('+'),
        duty: count.dutyKey,
        situationCut: count.cut,
        opportunities: count.opportunities - count.notCounted,
        misses: count.notMet,
        model: count.model,
      });
    }
  }
  const weights = new Map(startingRubric.map((duty) => [duty.key, duty.weight]));
  return { rows, truth: season.truth, weights };
}
