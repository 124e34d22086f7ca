import { Baselines, type LeftOut, remembered, settle } from './baseline.ts';
import type { ComparedGroup } from './comparison.ts';
import { type Event, gamesWith } from './counts.ts';
import { type Evidence, evidenceOf } from './evidence.ts';
import type { Rate, Tail } from './exact-tests.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { type GameVariation, pValueOf } from './game-variation.ts';
import type { ComparedOfficials } from './official-patterns.ts';
import type { PatternSettings } from './settings.ts';

type StrengthKind = 'fewer misses' | 'more model plays';

export interface Strength extends Evidence {
  official: string;
  position: string;
  kind: StrengthKind;
  /** Peers' model plays of their chances, unadjusted. */
  peersModel: Rate;
}

/** One way to be strong: which event, which way, and in how many games it must have been so. */
interface Way {
  kind: StrengthKind;
  event: Event;
  tail: Tail;
  spread: Event | 'opportunities';
  variation: GameVariation;
}

interface Tested {
  compared: ComparedGroup;
  unit: number;
  way: Way;
  /** Chances too few even beside all others: not compared. */
  tooFew: boolean;
  overdispersion: number;
  pValue: number;
}

/** Everybody in the group held against its baseline in one way; p = 1 where the side conditions fail. */
function testWay(way: Way, compared: ComparedGroup, settings: PatternSettings): Tested[] {
  const { event, tail, spread, variation } = way;
  return Array.from({ length: compared.size }, (_, unit) => {
    const comparison = compared.compare(unit, event);
    const { comparable, nullMean } = comparison;
    const worth =
      comparable.opportunities >= settings.minimumOpportunities &&
      (tail === 'more' ? comparable.events > nullMean : comparable.events < nullMean) &&
      gamesWith(compared.rowsOf(unit), spread) >= settings.minimumGames;
    const tested = worth
      ? pValueOf(compared, unit, event, tail, variation, comparison)
      : { pValue: 1, overdispersion: 1 };
    const withAll = compared === compared.everybody ? comparison : compared.everybody.compare(unit, event);
    const tooFew = withAll.comparable.opportunities < settings.minimumOpportunities;
    return { compared, unit, way, tooFew, ...tested };
  });
}

/**
 * The mirror image: duties that one official misses less often than peers, or that observers marked *model*
 * more often, by the same tests with the tails turned, in a family of their own. Most certain first.
 *
 * Peers are without those who were found to miss the duty, beside whom anybody looks good, and without those found
 * strong at it in the same way. Who has too few chances beside the peers that are left is not called strong.
 */
export function officialStrengths(
  { groups, missVariation, modelVariation, usual }: ComparedOfficials,
  foundToMiss: LeftOut,
  settings: PatternSettings,
): { strengths: Strength[]; family: Family } {
  const ways: Way[] = [
    {
      kind: 'fewer misses',
      event: 'misses',
      tail: 'fewer',
      spread: 'opportunities',
      variation: missVariation,
    },
    { kind: 'more model plays', event: 'model', tail: 'more', spread: 'model', variation: modelVariation },
  ];
  const passes = ways.map((way) => {
    const memory = new Map<ComparedGroup, Tested[]>();
    const test = (against: ComparedGroup) =>
      remembered(memory, against, () => testWay(way, against, settings));
    return { baselines: new Baselines(groups, way.event), test };
  });
  const { result, leftOut } = settle(
    groups,
    (without) => {
      const builder = new FamilyBuilder<Tested>(settings.falseDiscoveryRate);
      for (const { baselines, test } of passes) {
        for (const against of baselines.without(without)) {
          for (const tested of test(against)) {
            if (!tested.tooFew) builder.add(tested, tested.pValue);
            else if (tested.way.event === 'misses') builder.skip();
          }
        }
      }
      const { found, family } = builder.judge();
      return {
        found: found.map(({ candidate, ...judged }) => ({
          ...candidate,
          ...judged,
          event: candidate.way.event,
        })),
        family,
      };
    },
    foundToMiss,
  );
  const [forMisses, forModel] = passes.map(({ baselines }) => {
    const settled = baselines.without(leftOut);
    return new Map(settled.map((compared) => [compared.everybody, compared]));
  });
  const strengths = result.found.map((judged): Strength => {
    const { compared, unit, way, overdispersion } = judged;
    const besideMisses = forMisses!.get(compared.everybody)!;
    const misses = besideMisses.compare(unit, 'misses');
    return {
      official: misses.unit,
      position: compared.group.position,
      kind: way.kind,
      peersModel: forModel!.get(compared.everybody)!.compare(unit, 'model').others,
      ...evidenceOf(besideMisses, unit, misses, judged, overdispersion, { settings, usual }),
    };
  });
  strengths.sort((a, b) => a.adjustedP - b.adjustedP || a.consequence - b.consequence);
  return { strengths, family: result.family };
}
