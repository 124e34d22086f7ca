import { calibration } from './calibration.ts';
import { entry } from './entry.ts';
import type { ExamplesByOperation } from './example.ts';
import { files } from './files.ts';
import { films } from './films.ts';
import { inquiries } from './inquiries.ts';
import { letters } from './letters.ts';
import { people } from './people.ts';
import { postseason } from './postseason.ts';
import { programs } from './programs.ts';
import { quizzes } from './quizzes.ts';
import { reels } from './reels.ts';
import { review } from './review.ts';
import { rubric } from './rubric.ts';
import { season } from './season.ts';
import { watching } from './watching.ts';
import { webhooks } from './webhooks.ts';

/** What the API's description shows beside its schemas. */
export const examples: ExamplesByOperation = {
  ...people,
  ...season,
  ...rubric,
  ...entry,
  ...review,
  ...letters,
  ...files,
  ...webhooks,
  ...programs,
  ...calibration,
  ...films,
  ...watching,
  ...reels,
  ...inquiries,
  ...postseason,
  ...quizzes,
};
