export { type Chip, type Open, readWords, type Said, type SaidContext, wordsFor } from './read-words.ts';
