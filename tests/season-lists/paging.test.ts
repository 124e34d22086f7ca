import { expect, test } from 'vitest';
import { searchPatterns } from '../../server/season-lists/search-words.ts';
import { addressWith, pagingOf } from '../../server/web/paging.ts';

test('a page says which rows it has and keeps the query in the addresses beside it', () => {
  const page = (asked: number, total = 60) =>
    pagingOf({ asked, total, size: 25 }, '/plays', { find: 'late hit', kind: undefined, week: '3' });
  expect(page(1)).toEqual({
    ...{ page: 1, pages: 3, from: 1, to: 25, total: 60, previous: null },
    next: '/plays?find=late+hit&week=3&page=2',
  });
  expect(page(2)).toMatchObject({ from: 26, to: 50, previous: '/plays?find=late+hit&week=3' });
  expect(page(3)).toMatchObject({ from: 51, to: 60, next: null });
  // Beyond the last is the last; an empty list has one page.
  expect(page(9)).toMatchObject({ page: 3 });
  expect(page(1, 0)).toMatchObject({ page: 1, pages: 1, from: 0, to: 0, previous: null, next: null });
  expect(page(1, 25).next).toBeNull();
  expect(addressWith('/plays', { find: '' })).toBe('/plays');
});

test('words are looked for one by one, without accents, and mean what is written', () => {
  expect(searchPatterns('  Żurawiec   line ')).toEqual(['%Zurawiec%', '%line%']);
  expect(searchPatterns('50% a_b c\\d')).toEqual(['%50\\%%', '%a\\_b%', '%c\\\\d%']);
  expect(searchPatterns('   ')).toEqual([]);
});
