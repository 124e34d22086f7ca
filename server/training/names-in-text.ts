/** What a text for everybody should not hold. */
export interface Named {
  readonly people: readonly { readonly givenName: string; readonly familyName: string }[];
  readonly crews: readonly string[];
  readonly teams: readonly string[];
}

export interface FoundName {
  readonly kind: 'official' | 'crew' | 'team' | 'number';
  /** As it stands in the text. */
  readonly words: string;
}

const literal = (text: string) => text.replaceAll(/[.*+?^${}()|[\]\\]/g, '\\$&');
/** As a whole word, whatever the script: `\b` knows Latin letters without accents only. */
const word = (text: string) => `(?<![\\p{L}\\p{N}])${literal(text)}(?![\\p{L}\\p{N}])`;
/** Of somebody's shirt. "the number 1 key" is not one: it needs the sign, or a word that goes before a shirt's. */
const shirt = /(?<![\p{L}\p{N}])(?:#\s?\d{1,2}|(?:jersey|player)\s(?:number\s)?\d{1,2})(?!\p{N})/giu;

/**
 * Names of officials, crews and teams, and shirt numbers, in a text. Family names and crews are looked for as they are
 * written, so that "block" is nobody's name while "Block" may be; a name of two letters or less is not looked for.
 */
export function namesIn(text: string, { people, crews, teams }: Named): FoundName[] {
  const found = new Map<string, FoundName>();
  const look = (kind: FoundName['kind'], pattern: RegExp) => {
    for (const [words] of text.matchAll(pattern)) found.set(`${kind} ${words}`, { kind, words });
  };
  for (const { familyName } of people)
    if (familyName.length > 2) look('official', new RegExp(word(familyName), 'gu'));
  for (const crew of crews) if (crew.length > 2) look('crew', new RegExp(word(crew), 'gu'));
  for (const team of teams) if (team.length > 2) look('team', new RegExp(word(team), 'giu'));
  look('number', shirt);
  return [...found.values()];
}
