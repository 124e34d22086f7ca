import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { gradeRange, rangeText } from '../../results/pages/rank-words.ts';
import { number, percent } from '../../web/format.ts';
import { axisPlot, intervalPlot, plotScale } from '../../web/interval-plot.ts';
import type { DutyInSeason, PositionOverSeasons } from '../official-over-seasons.ts';
import type { PastSeason } from '../seasons-with-reports.ts';

/** One position over the seasons as a page shows it. @param ranks shown to the coordinator only */
export function positionOverSeasonsView(
  { position, seasons, duties }: PositionOverSeasons,
  all: readonly PastSeason[],
  ranks: boolean,
) {
  const marks = seasons.flatMap(({ line: { adjusted, raw } }) =>
    adjusted ? [{ low: adjusted.low, high: adjusted.high, value: adjusted.grade, other: raw }] : [],
  );
  const scale = plotScale(marks, 100);
  const names = new Map(all.map(({ id, name }) => [id, name]));
  return {
    position,
    axis: axisPlot(scale),
    seasons: seasons.map(({ season, line }) => {
      const { adjusted, raw, rank } = line;
      const interval = adjusted && errorUnknown(adjusted) ? 'not known' : gradeRange(adjusted);
      return {
        season,
        ...line,
        interval,
        plot: adjusted
          ? intervalPlot(
              { low: adjusted.low, high: adjusted.high, value: adjusted.grade, other: raw },
              scale,
              `Adjusted ${number(adjusted.grade, 2)}, 90 % interval ${interval}; as marked ${number(raw, 2)}`,
            )
          : '',
        rankText: ranks && rank ? `${rank.tied ? '=' : ''}${rank.place}` : '',
        likely: ranks && rank ? rangeText(rank.low, rank.high) : '',
      };
    }),
    duties: duties.map(({ title, key, seasons: own }) => ({
      key,
      title,
      seasons: own.map((cell) => ({ name: names.get(cell.seasonId), ...dutyCell(cell) })),
    })),
  };
}

const dutyCell = ({ misses, opportunities, interval, othersMissRate }: DutyInSeason) => ({
  misses,
  opportunities,
  rate: percent(misses / opportunities),
  range: `${percent(interval.low)} to ${percent(interval.high)}`,
  others: othersMissRate === null ? '' : percent(othersMissRate),
});
