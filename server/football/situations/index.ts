import * as afterThePlay from './after-the-play.ts';
import * as ending from './ending.ts';
import * as fouls from './fouls.ts';
import * as goalLine from './goal-line.ts';
import * as kicks from './kicks.ts';
import * as kinds from './kinds.ts';
import * as lanes from './lanes.ts';
import * as lineToGain from './line-to-gain.ts';
import * as passes from './passes.ts';
import * as runs from './runs.ts';
import type { Situation } from './situation.ts';

const groups = { kinds, goalLine, passes, runs, lineToGain, kicks, lanes, ending, afterThePlay, fouls };

type SituationIn<Module> = Extract<Module[keyof Module], { readonly key: string }>;
type AnySituation = {
  [Group in keyof typeof groups]: SituationIn<(typeof groups)[Group]>;
}[keyof typeof groups];
export type SituationKey = AnySituation['key'];

function isSituation(value: unknown): value is Situation {
  return typeof value === 'object' && value !== null && 'decide' in value;
}

/** Every situation a duty can name, grouped by subject. */
export const situations: readonly Situation[] = Object.values(groups).flatMap((group) =>
  (Object.values(group) as unknown[]).filter(isSituation),
);

const byKey = new Map(situations.map((situation) => [situation.key, situation]));

export const situationKeys = situations.map((situation) => situation.key) as [
  SituationKey,
  ...SituationKey[],
];

/** The situation of that name. Throws when there is none: keys are validated before they get here. */
export function situationOf(key: SituationKey): Situation {
  const situation = byKey.get(key);
  if (situation === undefined) throw new Error(`no situation is called "${key}"`);
  return situation;
}

export type { Situation } from './situation.ts';
