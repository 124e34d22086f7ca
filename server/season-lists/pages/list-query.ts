import { z } from 'zod';
import { typedText } from '../../text/typed-text.ts';
import { numberOf, wholeNumber } from '../../web/whole-number.ts';

/** Of a form sent without script: what is left empty is not asked. */
const emptyIsUnset = <T extends z.ZodType>(schema: T) =>
  z.preprocess((value) => (value === '' ? undefined : value), schema.optional());

const longestSearch = 100;

/** What the addresses of all lists take. */
export const common = {
  find: typedText({ most: longestSearch, tooLong: `Write at most ${longestSearch} characters.` }).default(''),
  page: emptyIsUnset(numberOf('page')),
};

const week = wholeNumber('week', 0, 30);

export const gamesQuery = z.object({
  ...common,
  week: emptyIsUnset(z.union([z.literal('all'), week])),
  state: emptyIsUnset(z.enum(['no report', 'with the observer', 'to review', 'to release', 'released'])),
});
export const officialsQuery = z.object({
  ...common,
  position: emptyIsUnset(typedText({ most: 40 })),
  crew: emptyIsUnset(z.uuid()),
});
export const playsQuery = z.object({
  ...common,
  kind: emptyIsUnset(typedText({ most: 40 })),
  week: emptyIsUnset(week),
  marked: emptyIsUnset(z.enum(['with marks', 'with misses'])),
});
