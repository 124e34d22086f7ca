import type { Play } from './play.ts';
import { yardLineInWords } from './yard-line-words.ts';

/** The two teams of a game by their full names. */
export interface GameTeams {
  readonly home: string;
  readonly visitor: string;
}

const lettersOf = (name: string) => name.normalize('NFKD').replace(/[^A-Za-z0-9]/g, '');

/**
 * The short names that people write beside a yard line: the first three letters, or as many more as tell the two
 * apart. `{ home: 'LAR', visitor: 'COP' }`.
 */
export function shortTeams({ home, visitor }: GameTeams): GameTeams {
  const [a, b] = [lettersOf(home), lettersOf(visitor)];
  for (let length = 3; length <= Math.max(a.length, b.length); length++) {
    const [first, second] = [a.slice(0, length).toUpperCase(), b.slice(0, length).toUpperCase()];
    if (first !== second && first !== '' && second !== '') return { home: first, visitor: second };
  }
  return { home: 'HOME', visitor: 'VIS' };
}

/** How people may write each team: its short name, its full name, and what it is in this game. */
export function teamSpellings(teams: GameTeams): { home: string[]; visitor: string[] } {
  const short = shortTeams(teams);
  const of = (team: keyof GameTeams) =>
    [...new Set([short[team], teams[team], team])].filter((spelling) => spelling !== '');
  return { home: of('home'), visitor: of('visitor') };
}

/** `LAR 27`, `midfield`, `LAR goal line`, `LAR end zone, 3 deep`; `own 27` while nobody said who has the ball. */
export function yardLineOf(yards: number, offense: Play['offense'], teams: GameTeams): string {
  if (offense === undefined) return yardLineInWords(yards);
  const short = shortTeams(teams);
  return yardLineInWords(yards, short[offense], short[offense === 'home' ? 'visitor' : 'home']);
}

/**
 * Reads a spot as people say it: `LAR 27`, `own 27`, `opponent's 12`, `midfield`, `50`, or yards from the offense's own
 * goal line (`73`; `-3` is in its end zone).
 * @returns yards from the offense's goal line. @throws Error that says what to write.
 */
export function yardsFrom(text: string, offense: Play['offense'], teams: GameTeams): number {
  const words = text
    .trim()
    .toLowerCase()
    .replace(/[’']s?\b/g, '')
    .replace(/\s+/g, ' ');
  if (words === 'midfield') return 50;
  const parts = /^(.*?)[ ]?(-?\d{1,3}|goal line|goal)$/.exec(words);
  const help = `write the side and the yard line, such as ${yardLineOf(27, offense, teams)}`;
  if (parts === null) throw new Error(help);
  const side = parts[1]!.trim();
  const line = /goal/.test(parts[2]!) ? 0 : Number(parts[2]);
  if (side === '') {
    if (line < -10 || line > 110) throw new Error(help);
    return line;
  }
  const own = ownSide(side, offense, teams);
  if (own === undefined || line > 50) throw new Error(help);
  return own ? line : 100 - line;
}

/** Is this the side of the team with the ball? Undefined when the word names neither, or both. */
function ownSide(side: string, offense: Play['offense'], teams: GameTeams): boolean | undefined {
  if ('own'.startsWith(side)) return true;
  if ('opponent'.startsWith(side)) return false;
  const spellings = teamSpellings(teams);
  const named = (['home', 'visitor'] as const).filter((team) =>
    spellings[team].some((spelling) => spelling.toLowerCase().startsWith(side)),
  );
  if (named.length !== 1 || offense === undefined) return undefined;
  return named[0] === offense;
}
