import { createHash } from 'node:crypto';
import { promisify } from 'node:util';
import { brotliCompress, constants, gzip } from 'node:zlib';

/** One file that browsers load. */
export interface Asset {
  /** As the sources call it: `style.css`, `report-entry.js`. */
  readonly name: string;
  /** Where it is served. It names the content where `lasting`, so that a browser never asks for it again. */
  readonly address: string;
  readonly type: string;
  readonly lasting: boolean;
  readonly body: Buffer;
  /** Scripts that it loads before it can begin, by name. */
  readonly needs: readonly string[];
}

/** Everything that browsers load, by name and by address. */
export class AssetSet {
  readonly #byName: ReadonlyMap<string, Asset>;

  constructor(readonly all: readonly Asset[]) {
    this.#byName = new Map(all.map((asset) => [asset.name, asset]));
  }

  /** @throws Error where the sources name what there is not */
  get(name: string): Asset {
    const asset = this.#byName.get(name);
    if (!asset) throw new Error(`There is no file "${name}" for browsers`);
    return asset;
  }

  address(name: string): string {
    return this.get(name).address;
  }

  /** Addresses of a script and of all that it loads, itself first. */
  withNeeds(name: string): string[] {
    const names = new Set([name]);
    for (const one of names) for (const needed of this.get(one).needs) names.add(needed);
    return [...names].map((one) => this.address(one));
  }
}

/** Names content: 10 characters of its SHA-256, 60 bits. */
export const contentName = (body: Buffer | string) =>
  createHash('sha256').update(body).digest('base64url').slice(0, 10).replaceAll(/[-_]/g, '0');

export type Encoding = 'br' | 'gzip';

/** What is not packed already. */
export const isWorthPacking = ({ type, body }: Asset) =>
  /^text\/|javascript|json|svg/.test(type) && body.length > 500;

const brotli = promisify(brotliCompress);
const zip = promisify(gzip);

/** As small as it gets: done once, or ahead. */
export function pack(body: Buffer, encoding: Encoding): Promise<Buffer> {
  if (encoding === 'gzip') return zip(body, { level: 9 });
  return brotli(body, {
    params: {
      [constants.BROTLI_PARAM_QUALITY]: constants.BROTLI_MAX_QUALITY,
      [constants.BROTLI_PARAM_SIZE_HINT]: body.length,
    },
  });
}
