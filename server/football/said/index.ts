export { type Chip, type Open, readWords, type SaidContext, wordsFor } from './read-words.ts';
