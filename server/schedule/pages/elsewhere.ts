import type { FastifyRequest } from 'fastify';

/** What waits, or lies, in a season that a page is not about: said in `words`, a click away. */
type Elsewhere = { id: string; name: string; words: string };

/**
 * Parts rows of all seasons into those of the season in view and what the others have.
 * @param words what lies in another season; in a closed one nothing waits for anybody
 */
export function ofSeasonInView<Row extends { seasonId: string }>(
  { seasonsShown }: Pick<FastifyRequest, 'seasonsShown'>,
  rows: readonly Row[],
  words: (rows: readonly Row[], closed: boolean) => string,
): { here: Row[]; elsewhere: Elsewhere[] } {
  const inView = seasonsShown?.inView?.id;
  const others = (seasonsShown?.all ?? []).filter((season) => season.id !== inView);
  return {
    here: rows.filter((row) => row.seasonId === inView),
    elsewhere: others.flatMap(({ id, name, state }) => {
      const theirs = rows.filter((row) => row.seasonId === id);
      return theirs.length > 0 ? [{ id, name, words: words(theirs, state === 'closed') }] : [];
    }),
  };
}

/** "1 letter", "3 letters". */
export const counted = (count: number, one: string, several = `${one}s`) =>
  `${count} ${count === 1 ? one : several}`;
