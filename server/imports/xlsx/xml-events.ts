import sax from 'sax';
import { UnreadableFile } from '../csv/unreadable.ts';

interface XmlHandlers {
  open?(name: string, attributes: Readonly<Record<string, string>>): void;
  text?(text: string): void;
  close?(name: string): void;
}

/** Names without their prefix: workbooks name one namespace in many ways. */
const local = (name: string) => name.slice(name.indexOf(':') + 1);

/**
 * Reads XML piece by piece and calls the handlers; yields after each piece, so that what they gathered can be handed
 * on. Entities of the document's own are not expanded.
 */
export async function* xmlEvents(
  source: AsyncIterable<Uint8Array>,
  { open, text, close }: XmlHandlers,
): AsyncGenerator<void> {
  const parser = sax.parser(true, { position: false });
  parser.onopentag = ({ name, attributes }) => open?.(local(name), attributes as Record<string, string>);
  parser.ontext = (found) => text?.(found);
  parser.oncdata = (found) => text?.(found);
  parser.onclosetag = (name) => close?.(local(name));
  parser.onerror = () => {
    throw new UnreadableFile(
      0,
      'The workbook holds XML that cannot be read.',
      'Open it in your spreadsheet program and save it again.',
    );
  };
  const decoder = new TextDecoder('utf-8');
  for await (const chunk of source) {
    parser.write(decoder.decode(chunk, { stream: true }));
    yield;
  }
  parser.close();
}

/** Reads all of it. */
export async function readXml(source: AsyncIterable<Uint8Array>, handlers: XmlHandlers): Promise<void> {
  for await (const _ of xmlEvents(source, handlers));
}
