/** One person's answers in the order of the items: 1 right, 0 wrong, null not asked. What was asked and left is wrong. */
export type Scored = readonly (0 | 1 | null)[];
