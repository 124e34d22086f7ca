import type { Season } from '../../database/generated/client.ts';

/** The parts of the patterns section, in the order of its tabs. */
const tabs = [
  { path: '', label: 'Repeat misses' },
  { path: '/crews', label: 'Crews' },
  { path: '/training-topics', label: 'Training topics' },
  { path: '/strengths', label: 'Strengths' },
  { path: '/development-points', label: 'Development points' },
] as const;

/** What each page of the patterns section needs for its tabs. */
export const patternTabs = (season: Season, here: string) => ({
  season,
  tabs: tabs.map((tab) => ({ ...tab, here: tab.path === here })),
});
