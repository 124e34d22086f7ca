/**
 * The words of a search box as patterns of SQL's LIKE, each to be found somewhere: without accents, small and capital
 * letters alike. At most ten; what LIKE takes for any letter stands for itself.
 */
export function searchPatterns(text: string): string[] {
  const plain = text.normalize('NFD').replaceAll(/\p{Mn}/gu, '');
  const words = plain.split(/\s+/).filter(Boolean).slice(0, 10);
  return words.map((word) => `%${word.replaceAll(/[\\%_]/g, '\\$&')}%`);
}

/** SQL: every pattern of the parameter is found in the text. */
export const holdsAll = (text: string, parameter: string): string =>
  `NOT EXISTS (SELECT FROM unnest(${parameter}::text[]) word
                WHERE regexp_replace(normalize(${text}, NFD), '[\\u0300-\\u036f]', '', 'g') NOT ILIKE word)`;
