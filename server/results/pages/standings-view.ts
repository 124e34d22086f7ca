import type { PersonName } from '../../accounts/people-names.ts';
import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { groupBy } from '../../grading/group-by.ts';
import { type SeasonModel, seasonModels } from '../../grading/season-choice.ts';
import type { SeasonFigure } from '../../knowledge/season-figure.ts';
import { number, signed } from '../../web/format.ts';
import { axisPlot, intervalPlot, plotScale } from '../../web/interval-plot.ts';
import { modelWords } from '../standings/model-words.ts';
import type { CurrentStandings, StandingLine } from '../standings/season-standings.ts';
import { chanceText, gradeRange, rangeText } from './rank-words.ts';

/** Which model the standings shown are by, why, and the other to look at. */
export function modelView(own: CurrentStandings, shown: CurrentStandings) {
  const words = (used: SeasonModel) => ({ model: used, ...modelWords[used] });
  const { used, why } = own.model;
  return {
    used: words(used),
    why,
    shown: words(shown.model.used),
    other: words(used === 'linear' ? 'counts' : 'linear'),
    apart: shown.model.used !== used,
    choices: [
      {
        value: 'by its games',
        name: 'By whichever foretells the season’s games better',
        here: !own.settings.fixedModel,
      },
      ...seasonModels.map((model) => ({
        value: model,
        name: `Always by ${modelWords[model].doing}`,
        here: own.settings.fixedModel === model,
      })),
    ],
  };
}

/** The lines of one position, each group of officials who can be compared by itself. */
export function positionView(
  standings: CurrentStandings,
  position: string,
  people: ReadonlyMap<string, PersonName>,
  figureOf: (line: StandingLine) => SeasonFigure | null = () => null,
) {
  const lines = standings.lines.filter((line) => line.position === position);
  const marks = lines.flatMap(({ adjusted, raw }) => (adjusted ? [markOf(adjusted, raw)] : []));
  const scale = plotScale(marks, 100);
  const ranked = lines.filter((line) => line.rank).length;
  const rows = lines.map((line) => ({
    ...line,
    official: people.get(line.personId),
    figure: figureOf(line),
    rankText: line.rank ? `${line.rank.tied ? '=' : ''}${line.rank.place}` : '',
    chance: chanceText(line.placeChance, ranked <= standings.settings.places),
    interval: gradeRange(line.adjusted),
    likely: line.rank && rangeText(line.rank.low, line.rank.high),
    ...movedText(line),
    plot: line.adjusted
      ? intervalPlot(
          markOf(line.adjusted, line.raw),
          scale,
          `Adjusted ${number(line.adjusted.grade, 2)}, 90 % interval ${errorUnknown(line.adjusted) ? 'not known' : gradeRange(line.adjusted)}; as marked ${number(line.raw, 2)}`,
        )
      : '',
  }));
  const groups = [
    ...groupBy(
      rows.filter((row) => row.rank !== null),
      (row) => row.group,
    ),
  ].map(([group, members]) => ({
    rows: members,
    title: `Group ${group + 1}`,
    observers: (standings.groups[group]?.observers ?? []).map((id) => people.get(id)).filter(Boolean),
  }));
  return {
    axis: axisPlot(scale),
    groups,
    apart: groups.length > 1,
    unranked: rows.filter((row) => row.rank === null),
  };
}

const markOf = ({ low, high, grade }: NonNullable<StandingLine['adjusted']>, raw: number | null) => ({
  low,
  high,
  value: grade,
  other: raw,
});

/** By how many ranks and points a line moved since the week before, in words. */
function movedText({ rank, before, adjusted }: StandingLine): { moved: string; movedPoints: string } {
  if (!rank) return { moved: '', movedPoints: '' };
  if (!before || before.place === null) return { moved: 'newly ranked', movedPoints: '' };
  const ranks = before.place - rank.place;
  return {
    moved: ranks === 0 ? 'same' : `${ranks > 0 ? 'up' : 'down'} ${Math.abs(ranks)}`,
    movedPoints: adjusted && before.adjusted !== null ? signed(adjusted.grade - before.adjusted, 2) : '',
  };
}
