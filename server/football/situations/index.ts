import * as afterThePlay from './after-the-play.ts';
import * as beforeTheSnap from './before-the-snap.ts';
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

const groups = {
  kinds,
  beforeTheSnap,
  goalLine,
  passes,
  runs,
  lineToGain,
  kicks,
  lanes,
  ending,
  afterThePlay,
  fouls,
};

type SituationIn<Module> = Extract<Module[keyof Module], { readonly key: string }>;
type AnySituation = {
  [Group in keyof typeof groups]: SituationIn<(typeof groups)[Group]>;
}[keyof typeof groups];
export type SituationKey = AnySituation['key'];

function isSituation(value: unknown): value is Situation {
  return typeof value === 'object' && value !== null && 'decide' in value;
}

/** How the groups are headed when people choose from them. */
const groupTitles: Readonly<Record<keyof typeof groups, string>> = {
  kinds: 'Kind of play',
  beforeTheSnap: 'Before the snap',
  goalLine: 'Goal lines and scores',
  passes: 'Passes',
  runs: 'Runs',
  lineToGain: 'Downs and line to gain',
  kicks: 'Kicks',
  lanes: 'Sides of the field',
  ending: 'End of the play and clocks',
  afterThePlay: 'Loose balls and after the play',
  fouls: 'Fouls',
};

/** The situations under their headings. */
export const situationGroups: readonly { title: string; situations: readonly Situation[] }[] = Object.entries(
  groups,
).map(([group, module]) => ({
  title: groupTitles[group as keyof typeof groups],
  situations: (Object.values(module) as unknown[]).filter(isSituation),
}));

/** Every situation a duty can name. */
export const situations: readonly Situation[] = situationGroups.flatMap((group) => group.situations);

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

export { openUntilLogged, type Situation } from './situation.ts';
