import { makeDemoSeason } from '../../seed-demo/season.ts';
import { compileRubric, fullCrew } from '../../server/duties/opportunities.ts';
import { countOpportunities } from '../../server/duties/opportunity-counts.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import type { CountRow } from '../../server/patterns/counts.ts';
import { situationCuts } from '../../server/patterns/situation-cuts.ts';

/** The demo season's counts and truth without a database: what filing and cutting its released reports gives. */
export function demoCounts(seed?: number) {
  const season = makeDemoSeason(seed);
  const rubric = compileRubric(startingRubric);
  const crew = fullCrew(8);
  const rows: CountRow[] = [];
  for (const report of season.reports) {
    if (report.state !== 'released') continue;
    const game = season.games.find((other) => other.key === report.game)!;
    const log = (season.plays.get(report.game) ?? []).map(({ number, play }) => ({
      id: String(number),
      play,
    }));
    const marks = report.marks.map((mark) => ({ ...mark, playId: String(mark.play) }));
    for (const cut of [null, ...situationCuts]) {
      const plays = cut ? log.filter(({ play }) => cut.decide(play) === true) : log;
      const ids = new Set(plays.map(({ id }) => id));
      const { counts } = countOpportunities(
        plays,
        crew,
        rubric,
        marks.filter((mark) => ids.has(mark.playId)),
      );
      for (const count of counts) {
        rows.push({
          official: game.workingCrew[count.position],
          position: count.position,
          crew: game.crew ?? '',
          game: report.game,
          week: game.week,
          observer: report.observer,
          duty: count.dutyKey,
          situationCut: cut?.key ?? null,
          opportunities: count.opportunities - count.notCounted,
          misses: count.notMet,
          model: count.model,
        });
      }
    }
  }
  const weights = new Map(startingRubric.map((duty) => [duty.key, duty.weight]));
  return { rows, truth: season.truth, weights };
}
