import { writeFileSync } from 'node:fs';
import { dutyCategories } from '../../../server/duties/duty.ts';
import { startingRubric } from '../../../server/duties/starting-rubric.ts';
import { positions } from '../../../server/football/positions.ts';
import { groupBy } from '../../../server/grading/group-by.ts';
import { demoCounts } from '../demo-counts.ts';

// node --import tsx tests/bench/seasons/write-exposures.ts: writes exposures.csv anew from the demo season's counts,
// so that simulated seasons have its duties, weights and chances without making it.
const { rows, truth } = demoCounts();
const whole = rows.filter(({ situationCut, opportunities }) => situationCut === null && opportunities > 0);
const games = new Set(whole.map(({ game }) => game)).size;
const missRateOfTheGame = 0.04;
const lines = ['position,duty,category,weight,chances a game,miss rate'];
for (const position of positions) {
  const byDuty = groupBy(
    whole.filter((row) => row.position === position),
    ({ duty }) => duty,
  );
  const counted = [...byDuty].map(([duty, own]) => ({
    duty,
    chances: own.reduce((sum, { opportunities }) => sum + opportunities, 0) / games,
  }));
  for (const { duty, chances } of counted.sort(
    (a, b) => b.chances - a.chances || (a.duty < b.duty ? -1 : 1),
  )) {
    const { category, weight } = startingRubric.find(({ key }) => key === duty)!;
    const rate = truth.baseMissRate[duty] ?? missRateOfTheGame;
    lines.push(
      [position, duty, dutyCategories.indexOf(category), weight, chances.toFixed(3), rate.toFixed(5)].join(
        ',',
      ),
    );
  }
}
writeFileSync(new URL('exposures.csv', import.meta.url), `${lines.join('\n')}\n`);
