import { UnreadableFile } from '../csv/unreadable.ts';
import { type NumberForm, numberForm, stringText } from './cell-text.ts';
import { readXml } from './xml-events.ts';
import type { ZipParts } from './zip-parts.ts';

export interface Sheet {
  name: string;
  hidden: boolean;
  /** The part that holds it. */
  part: string;
}

/** What the sheets of a workbook share. */
export interface Workbook {
  sheets: Sheet[];
  dateSystem1904: boolean;
  strings: string[];
  /** The form of numbers for each cell style. */
  forms: (NumberForm | undefined)[];
}

/** Characters of all shared texts together. */
const mostCharacters = 100_000_000;

async function readSheets(parts: ZipParts): Promise<Pick<Workbook, 'sheets' | 'dateSystem1904'>> {
  const targets = new Map<string, string>();
  await readXml(parts.read('xl/_rels/workbook.xml.rels'), {
    open(name, { Id, Target, Type = '' }) {
      if (name !== 'Relationship' || Id === undefined || Target === undefined) return;
      if (!Type.endsWith('/worksheet')) return;
      targets.set(Id, Target.startsWith('/') ? Target.slice(1) : `xl/${Target.replace(/^\.\//, '')}`);
    },
  });
  const sheets: Sheet[] = [];
  let dateSystem1904 = false;
  await readXml(parts.read('xl/workbook.xml'), {
    open(name, attributes) {
      if (name === 'workbookPr') dateSystem1904 = /^(1|true)$/.test(attributes.date1904 ?? '');
      if (name !== 'sheet') return;
      const id = Object.entries(attributes).find(([key]) => key === 'r:id' || key.endsWith(':id'))?.[1];
      const part = targets.get(id ?? '');
      const hidden = (attributes.state ?? 'visible') !== 'visible';
      if (part !== undefined) sheets.push({ name: attributes.name ?? '', hidden, part });
    },
  });
  return { sheets, dateSystem1904 };
}

async function readStrings(parts: ZipParts): Promise<string[]> {
  const strings: string[] = [];
  let text = '';
  let characters = 0;
  let inText = false;
  let phonetic = false;
  await readXml(parts.read('xl/sharedStrings.xml'), {
    open(name) {
      if (name === 'si') text = '';
      else if (name === 'rPh') phonetic = true;
      else if (name === 't') inText = !phonetic;
    },
    text(found) {
      if (inText) text += found;
    },
    close(name) {
      if (name === 't') inText = false;
      else if (name === 'rPh') phonetic = false;
      else if (name === 'si') {
        characters += text.length;
        if (characters > mostCharacters)
          throw new UnreadableFile(0, 'The workbook holds too much text.', 'Save the sheet as "CSV UTF-8".');
        strings.push(stringText(text));
      }
    },
  });
  return strings;
}

async function readForms(parts: ZipParts): Promise<(NumberForm | undefined)[]> {
  const codes = new Map<number, string>();
  const forms: (NumberForm | undefined)[] = [];
  let inCellStyles = false;
  await readXml(parts.read('xl/styles.xml'), {
    open(name, { numFmtId, formatCode }) {
      if (name === 'numFmt') codes.set(Number(numFmtId), formatCode ?? '');
      else if (name === 'cellXfs') inCellStyles = true;
      else if (name === 'xf' && inCellStyles) {
        const id = Number(numFmtId ?? 0);
        forms.push(codes.has(id) ? numberForm(id, codes.get(id)) : numberForm(id));
      }
    },
    close(name) {
      if (name === 'cellXfs') inCellStyles = false;
    },
  });
  return forms;
}

/** @throws UnreadableFile when it holds no sheet */
export async function readWorkbook(parts: ZipParts): Promise<Workbook> {
  const { sheets, dateSystem1904 } = await readSheets(parts);
  if (sheets.length === 0) {
    throw new UnreadableFile(
      0,
      'The file is an archive, but no workbook with a sheet.',
      'Save the sheet as a workbook (.xlsx) or as "CSV UTF-8", and import that.',
    );
  }
  return { sheets, dateSystem1904, strings: await readStrings(parts), forms: await readForms(parts) };
}
