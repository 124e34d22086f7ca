import { createHash } from 'node:crypto';
import { writeFile } from 'node:fs/promises';
import path from 'node:path';
import { drawPng } from '../cards/draw-png.ts';
import { pictureOptions } from './card-clip.ts';
import type { ClipInput } from './clip.ts';

/** Drawings as pictures in a folder, each once. */
export class DrawnPictures {
  readonly #folder: string;
  readonly #drawn = new Map<string, Promise<unknown>>();

  constructor(folder: string) {
    this.#folder = folder;
  }

  /** Told apart by the drawing itself, which is drawn only when `draw` is called. */
  input(svg: string): ClipInput & { draw(): Promise<unknown> } {
    const identity = createHash('sha256').update(svg).digest('hex');
    const file = path.join(this.#folder, `${identity}.png`);
    return {
      options: pictureOptions,
      file,
      identity,
      draw: () => {
        const known = this.#drawn.get(identity) ?? drawPng(svg).then((png) => writeFile(file, png));
        this.#drawn.set(identity, known);
        return known;
      },
    };
  }
}
