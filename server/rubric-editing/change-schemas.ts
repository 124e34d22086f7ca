import { z } from 'zod';
import { exactText, typedText } from '../text/typed-text.ts';

export const ofSeason = z.object({ seasonId: z.uuid() });
export const why = { note: typedText({ most: 500 }).default('').describe('Why, for the audit trail.') };
export const seen = {
  seen: exactText({ most: 200 }).describe('The fingerprint of the duty that the change is based on.'),
};
export const changedSchema = z.object({
  number: z.int(),
  newVersion: z.boolean().describe('A report was filed with the version before, which stays as it was.'),
});
