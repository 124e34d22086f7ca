import type { Foul } from './fouls.ts';

/**
 * The fouls that are called most, each with the team that usually commits it, for choosing from a list; any other can
 * be typed. Common practice, no source.
 */
export const usualFouls: readonly Pick<Foul, 'foul' | 'by'>[] = [
  { foul: 'holding', by: 'offense' },
  { foul: 'false start', by: 'offense' },
  { foul: 'offside', by: 'defense' },
  { foul: 'defensive pass interference', by: 'defense' },
  { foul: 'defensive holding', by: 'defense' },
  { foul: 'illegal formation', by: 'offense' },
  { foul: 'delay of game', by: 'offense' },
  { foul: 'unnecessary roughness', by: 'defense' },
  { foul: 'block in the back', by: 'offense' },
  { foul: 'facemask', by: 'defense' },
  { foul: 'unsportsmanlike conduct', by: 'defense' },
  { foul: 'offensive pass interference', by: 'offense' },
  { foul: 'roughing the passer', by: 'defense' },
  { foul: 'encroachment', by: 'defense' },
  { foul: 'illegal shift', by: 'offense' },
  { foul: 'illegal motion', by: 'offense' },
  { foul: 'illegal substitution', by: 'offense' },
  { foul: 'ineligible receiver downfield', by: 'offense' },
  { foul: 'intentional grounding', by: 'offense' },
  { foul: 'illegal forward pass', by: 'offense' },
  { foul: 'targeting', by: 'defense' },
  { foul: 'horse collar', by: 'defense' },
  { foul: 'illegal block below the waist', by: 'offense' },
  { foul: 'kick-catch interference', by: 'offense' },
  { foul: 'free kick out of bounds', by: 'offense' },
  { foul: 'roughing the kicker', by: 'defense' },
  { foul: 'running into the kicker', by: 'defense' },
  { foul: 'roughing the snapper', by: 'defense' },
  { foul: 'sideline interference', by: 'offense' },
];
