import type { Play } from '../../football/play.ts';
import { folded, type Mapping, meantBy, type SideMeaning } from './mapping.ts';

type Team = NonNullable<Play['offense']>;

/** The two teams of a game, by whom texts of a file are understood. */
export interface TeamsOfGame {
  readonly home: { readonly id: string; readonly name: string };
  readonly visitor: { readonly id: string; readonly name: string };
}

/** Our own words for a side, read without anybody saying so. */
const ownWords: Readonly<Record<string, SideMeaning>> = {
  home: 'home',
  visitor: 'visitor',
  offense: 'offense',
  defense: 'defense',
};

/** What a text for a side means in this game; undefined when nobody has said. `other game` for a team that does not play in it. */
export function sideMeant(
  text: string,
  sides: Mapping['sides'],
  teams: TeamsOfGame,
): SideMeaning | 'unknown' | 'other game' | undefined {
  const key = folded(text);
  const said = meantBy(sides, text);
  if (said === '') return 'unknown';
  if (said === undefined) {
    if (key === folded(teams.home.name)) return 'home';
    if (key === folded(teams.visitor.name)) return 'visitor';
    return meantBy(ownWords, text);
  }
  if (said === 'home' || said === 'visitor' || said === 'offense' || said === 'defense') return said;
  if (said === teams.home.id) return 'home';
  return said === teams.visitor.id ? 'visitor' : 'other game';
}

/** The team that a side is, as far as the team with the ball is known where the text means it by the play. */
export function teamOf(meant: SideMeaning, offense: Team | undefined): Team | undefined {
  if (meant === 'home' || meant === 'visitor') return meant;
  if (offense === undefined) return undefined;
  return meant === 'offense' ? offense : offense === 'home' ? 'visitor' : 'home';
}

/** Is it the offense's side or the other one? Undefined where the team with the ball is not known. */
export function roleOf(meant: SideMeaning, offense: Team | undefined): 'offense' | 'defense' | undefined {
  if (meant === 'offense' || meant === 'defense') return meant;
  if (offense === undefined) return undefined;
  return meant === offense ? 'offense' : 'defense';
}

/**
 * Which of the two teams a text most likely stands for: the only one whose name, or the initials of whose name, begins
 * with it. For a first proposal; the person who knows the file has the last word.
 */
export function likelyTeam(text: string, { home, visitor }: TeamsOfGame): string | undefined {
  const letters = (written: string) => folded(written).replace(/[^\p{L}\p{N}]/gu, '');
  const key = letters(text);
  if (key.length === 0) return undefined;
  const fits = ({ name }: { name: string }) => {
    const initials = folded(name)
      .split(/[^\p{L}\p{N}]+/u)
      .map((word) => word.charAt(0))
      .join('');
    return letters(name).startsWith(key) || initials === key;
  };
  if (fits(home) === fits(visitor)) return undefined;
  return fits(home) ? home.id : visitor.id;
}
