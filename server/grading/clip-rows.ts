import { type ClipMark, clipFactors, clipLevel, outside, setColumn } from './clip-marks.ts';
import type { RandomFactor } from './model-rows.ts';
import type { ModelRows } from './past-rows.ts';

/**
 * The rows of reports and after them those of clips: mark = shift of the set + clip + observer as at games + observer on
 * film + chance. No effect of an official, a game or an evening is in a clip's row, none of a clip in a report's: nobody's
 * grade moves because a clip shows them, only how strict observers are becomes surer. Clips and games have a variance
 * each; taken for one sort of thing, clips tell nothing. What an observer is on film beside what they are at games has one
 * too: who overlooks much in the stands is asked on film, so that the two are not the same. Where it is 0, film tells
 * as much as games do.
 *
 * @param observers the factors of `reports` that a clip's row has as well, with its level
 */
export function withClips<Rows extends ModelRows>(
  reports: Rows,
  clips: readonly ClipMark[],
  of: { response: (mark: ClipMark) => number; weight: number },
  observers: Readonly<Record<string, (mark: ClipMark) => string>>,
): Rows {
  const none = (value: number, rows: ArrayLike<unknown>) => new Array<number>(rows.length).fill(value);
  const nowhere = reports.response.map(() => outside);
  const sets = [...new Set(clips.map(({ set }) => set))];
  return {
    ...reports,
    response: [...reports.response, ...clips.map(of.response)],
    weights: [...reports.weights, ...none(of.weight, clips)],
    ...(reports.offset ? { offset: [...reports.offset, ...none(0, clips)] } : {}),
    fixed: [
      ...reports.fixed.map(({ name, values }) => ({
        name,
        values: [...Array.from(values), ...none(0, clips)],
      })),
      ...sets.map((set) => ({
        name: setColumn(set),
        values: [...none(0, nowhere), ...clips.map((mark) => Number(mark.set === set))],
      })),
    ],
    factors: [
      ...reports.factors.map(({ name, levels }): RandomFactor => {
        const levelOf = observers[name];
        const own = Array.from(levels);
        return levelOf
          ? { name, levels: [...own, ...clips.map(levelOf)] }
          : { name, levels: [...own, ...clips.map(() => outside)], outside };
      }),
      { name: clipFactors.clip, levels: [...nowhere, ...clips.map(clipLevel)], outside },
      {
        name: clipFactors.observerOnFilm,
        levels: [...nowhere, ...clips.map(({ observer }) => observer)],
        outside,
      },
    ],
  };
}
