import type { Foul } from './fouls.ts';

/**
 * The fouls that situations know by name, each with how observers usually write it. Matched without regard to case,
 * spaces and hyphens, and anywhere in what was written: `personal foul, targeting` is targeting.
 */
export const foulNames = {
  targeting: ['targeting'],
  'unsportsmanlike conduct': ['unsportsmanlike', 'unsports', 'taunting', 'celebration', 'abusive language'],
  'sideline interference': ['sideline', 'restricted area', 'team area', 'coaching box'],
  offside: ['offside', 'offsides', 'off side'],
  encroachment: ['encroachment', 'encroaching', 'unabated', 'neutral zone infraction'],
} as const satisfies Record<string, readonly string[]>;
export type FoulName = keyof typeof foulNames;

const plain = (text: string) => text.toLowerCase().replace(/[^a-z]+/g, '');

const spellings = Object.fromEntries(
  Object.entries(foulNames).map(([name, list]) => [name, list.map(plain)]),
) as unknown as Record<FoulName, readonly string[]>;

/** Was this foul logged under one of these names? */
export function isFoulNamed(foul: Foul, ...names: readonly FoulName[]): boolean {
  const written = plain(foul.foul);
  return names.some((name) => spellings[name].some((spelling) => written.includes(spelling)));
}
