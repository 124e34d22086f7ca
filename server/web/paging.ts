/** The rows of one page of a list, and the ways to the pages beside it. */
interface Paging {
  readonly page: number;
  readonly pages: number;
  /** Numbers of its first and last row, from 1 on; both 0 in an empty list. */
  readonly from: number;
  readonly to: number;
  readonly total: number;
  /** Addresses; null where there is no such page. */
  readonly previous: string | null;
  readonly next: string | null;
}

type Query = Readonly<Record<string, string | undefined>>;

/** An address with what is set of a query, in its order. */
export function addressWith(path: string, query: Query): string {
  const set = Object.entries(query).filter((entry): entry is [string, string] => Boolean(entry[1]));
  return set.length > 0 ? `${path}?${new URLSearchParams(set)}` : path;
}

/** How many pages a list has: one at least. */
export const pagesOf = (total: number, size: number): number => Math.max(1, Math.ceil(total / size));

/**
 * @param asked page asked for; beyond the last it is the last
 * @param query what the pages beside it keep of the address
 */
export function pagingOf(
  { asked, total, size }: { asked: number; total: number; size: number },
  path: string,
  query: Query,
): Paging {
  const pages = pagesOf(total, size);
  const page = Math.min(Math.max(1, asked), pages);
  const address = (to: number) => addressWith(path, { ...query, page: to > 1 ? String(to) : undefined });
  return {
    page,
    pages,
    from: total === 0 ? 0 : (page - 1) * size + 1,
    to: Math.min(page * size, total),
    total,
    previous: page > 1 ? address(page - 1) : null,
    next: page < pages ? address(page + 1) : null,
  };
}
