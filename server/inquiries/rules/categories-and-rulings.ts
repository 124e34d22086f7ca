/** What an inquiry can be about. Our own words: common practice, no source. */
export const categories = [
  'a foul that was called',
  'a foul that was not called',
  'enforcement of a penalty',
  'catch, fumble or possession',
  'spot or line to gain',
  'score, goal line or out of bounds',
  'clock or time-out',
  'what was explained on the field',
  'something else',
] as const;
export type Category = (typeof categories)[number];

/** What the answer can say of the call, from surest to least sure. Our own words: common practice, no source. */
export const rulings = ['correct', 'incorrect', 'supportable', 'not to be determined'] as const;
export type Ruling = (typeof rulings)[number];

export const rulingMeans: Readonly<Record<Ruling, string>> = {
  correct: 'The call follows the rule on what the film shows.',
  incorrect: 'The call does not follow the rule on what the film shows.',
  supportable: 'The film bears the call, and would have borne another.',
  'not to be determined': 'The film does not show enough to say.',
};

export const sentBackReasons = ['late', 'not reviewable'] as const;
export type SentBackBecause = (typeof sentBackReasons)[number];
