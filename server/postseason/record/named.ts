import type { LetterDocument } from '../../letters/document-tree.ts';
import type { RecordMaterial } from './record-material.ts';

export interface Person {
  readonly id: string;
  readonly givenName: string;
  readonly familyName: string;
  readonly email: string;
}

/**
 * Whom a record names: those of whom it was made, and whoever its texts call by their name or address. Rather one too many: by
 * it an erasure tells which files go.
 * @param by who closes the selection
 * @returns ids
 */
export function namedIn(
  { names: _, ...material }: RecordMaterial,
  document: Pick<LetterDocument, 'blocks'>,
  people: readonly Person[],
  by: string,
): string[] {
  const ids = new Set(JSON.stringify(material).match(/[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}/g));
  const words = JSON.stringify(document.blocks).toLowerCase();
  const says = (name: string): boolean => {
    const text = JSON.stringify(name.toLowerCase()).slice(1, -1);
    for (let at = words.indexOf(text); text !== '' && at >= 0; at = words.indexOf(text, at + 1))
      if (!isLetter(words[at - 1]) && !isLetter(words[at + text.length])) return true;
    return false;
  };
  return people
    .filter(({ id, familyName, email }) => id === by || ids.has(id) || says(familyName) || says(email))
    .map(({ id }) => id);
}

const isLetter = (sign: string | undefined): boolean => sign !== undefined && /[\p{L}\p{N}]/u.test(sign);
