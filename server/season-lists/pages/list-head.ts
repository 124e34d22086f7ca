import type { Queryable } from '../../database/transaction.ts';
import { addressWith } from '../../web/paging.ts';
import { searchPatterns } from '../search-words.ts';
import { countGames } from '../stores/games-store.ts';
import { countOfficials } from '../stores/officials-store.ts';
import { countPlays } from '../stores/plays-store.ts';

type List = 'games' | 'officials' | 'plays';

export const listAddress = (seasonId: string, list: List): string =>
  list === 'games' ? `/seasons/${seasonId}` : `/seasons/${seasonId}/${list}`;

/** How much of each list the words of a search are found in; undefined without words. */
export async function countFound(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  find: string,
): Promise<Record<List, number> | undefined> {
  const patterns = searchPatterns(find);
  if (patterns.length === 0) return undefined;
  const here = [db, conferenceId, seasonId] as const;
  return {
    games: await countGames(...here, { patterns, week: null, state: null }),
    officials: await countOfficials(...here, { patterns, position: null, crewId: null }),
    plays: await countPlays(...here, { patterns, kind: null, week: null, marked: null }),
  };
}

/** The tabs above a season's lists: the words searched for go along, and each says how many it finds. */
export async function listTabs(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  here: List,
  find: string,
) {
  const counts = await countFound(db, conferenceId, seasonId, find);
  return (['games', 'officials', 'plays'] as const).map((list) => ({
    label: { games: 'Games', officials: 'Officials', plays: 'Plays' }[list],
    href: addressWith(listAddress(seasonId, list), { find }),
    here: list === here,
    found: counts ? String(counts[list]) : undefined,
  }));
}

/** Choices of a filter, with the one chosen. */
export const choices = (all: readonly { value: string; label: string }[], chosen: string | undefined) =>
  all.map((one) => ({ ...one, chosen: one.value === (chosen ?? '') }));
