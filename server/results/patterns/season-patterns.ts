import type { CountRow } from '../../patterns/counts.ts';
import type { SeasonPatterns } from '../../patterns/find-patterns.ts';
import type { Calculator } from '../calculator.ts';
import type { ResultKind } from '../kept-result.ts';
import { cutGames, uncutGames } from './cut-counts.ts';
import { dutiesOfSeason, readPatternCounts } from './pattern-counts.ts';
import { type KeptPatternSettings, patternSettingsOf } from './pattern-settings.ts';

/** A season's patterns as they are now, without the weights that the duties carry anyway. */
export type CurrentPatterns = Omit<SeasonPatterns, 'settings'> & {
  settings: KeptPatternSettings;
  /** The season's input revision that they rest on. */
  inputRevision: number;
};

type Basis = { readonly settings: KeptPatternSettings; readonly weights: Readonly<Record<string, number>> };

/**
 * Patterns as a kept result: found anew when a report is released, corrected or ruled on, when the rubric's weights
 * or the settings change.
 */
export function patternsKind(
  calculator: Pick<Calculator, 'findPatterns' | 'cutGame'>,
): ResultKind<Basis, CountRow[], CurrentPatterns> {
  return {
    ...patternsGrounds,
    prepare: (pool, season) => cutGames(pool, calculator, season),
    async read(client, season) {
      if ((await uncutGames(client, season)).length > 0) return null;
      return readPatternCounts(client, season.conferenceId, season.seasonId);
    },
    async compute(rows, { basis: { settings, weights }, revision }) {
      const found = await calculator.findPatterns(rows, {
        ...settings,
        weights: new Map(Object.entries(weights)),
      });
      return { ...found, settings, inputRevision: revision };
    },
  };
}

/** Raise `method` when the way of finding patterns changes results. */
export const patternsGrounds = {
  name: 'patterns',
  method: 8,
  basis: `jsonb_build_object(
    'settings', ${patternSettingsOf},
    'weights', (SELECT coalesce(jsonb_object_agg(d.key, d.weight), '{}') FROM (
                  ${dutiesOfSeason('d.key, d.weight', 's.conference_id', 's.id')}) d))`,
};
