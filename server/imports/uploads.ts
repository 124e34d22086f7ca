import { createReadStream, createWriteStream } from 'node:fs';
import { rm } from 'node:fs/promises';
import path from 'node:path';
import { pipeline } from 'node:stream/promises';
import type { Multipart } from '@fastify/multipart';
import type { FastifyRequest } from 'fastify';
import { databaseTrouble } from '../database/trouble.ts';
import { Problem } from '../web/problem.ts';
import { uploadFolder } from '../web/upload-folder.ts';
import type { FileKind } from './files/file-kind.ts';
import { fileKindNamed, fileKindOfFileName } from './files/index.ts';
import type { FileToImport } from './import-file.ts';

/** A play log of 100,000 rows has about 25 MB. */
export const largestFile = 200 * 1024 * 1024;
export const mostFiles = 50;

const tooLarge = (what: string) =>
  new Problem(413, 'Too large', `${what} is larger than ${largestFile / 1024 / 1024} MB; split it by weeks.`);

/** A folder that goes when `use` is done. */
export async function inFolder<Result>(use: (folder: string) => Promise<Result>): Promise<Result> {
  const folder = await uploadFolder();
  try {
    return await use(folder);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/**
 * Puts an upload into a temporary file and hands that on: an import waits for no network, so that a slow upload does
 * not keep other imports waiting.
 */
export async function fromFile<Result>(
  upload: AsyncIterable<Uint8Array>,
  use: (open: () => AsyncIterable<Uint8Array>) => Promise<Result>,
): Promise<Result> {
  return inFolder(async (folder) => {
    const file = path.join(folder, 'upload');
    await pipeline(limited(upload), createWriteStream(file));
    return use(() => createReadStream(file));
  });
}

/** Passes an upload on up to the largest size. */
async function* limited(source: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  let bytes = 0;
  for await (const chunk of source) {
    bytes += chunk.length;
    if (bytes > largestFile) throw tooLarge('The file');
    yield chunk;
  }
}

interface Received {
  files: FileToImport[];
  /** Names of files that tell no kind. */
  unknown: string[];
  /** The form's other fields. */
  fields: Record<string, string>;
}

/** The parts of a form as they come. @throws Problem when what came is no such form, or broke off. */
async function* partsOf(request: FastifyRequest): AsyncGenerator<Multipart> {
  try {
    yield* request.parts();
  } catch (error) {
    // The reader of forms has its own errors for limits, with a status; the rest are about the form itself.
    if (error instanceof Problem || (error as { statusCode?: number }).statusCode !== undefined) throw error;
    if (databaseTrouble(error) !== undefined) throw error;
    throw new Problem(
      400,
      'The form did not arrive whole',
      'Send the files again: the form broke off or is not one.',
    );
  }
}

/**
 * Puts the files of a form into a folder: only then can they be imported in their order. All are of kind `every` where
 * it is given.
 */
export async function receive(request: FastifyRequest, folder: string, every?: FileKind): Promise<Received> {
  const files: FileToImport[] = [];
  const unknown: string[] = [];
  const fields: Record<string, string> = {};
  let chosen: FileKind | undefined;
  for await (const part of partsOf(request)) {
    if (part.type === 'field') {
      if (typeof part.value === 'string') fields[part.fieldname] = part.value;
      if (part.fieldname === 'kind' && typeof part.value === 'string') chosen = fileKindNamed(part.value);
      continue;
    }
    const fileName = path.basename(part.filename ?? '');
    if (fileName === '') {
      part.file.resume();
      continue;
    }
    const kind = every ?? chosen ?? fileKindOfFileName(fileName);
    if (kind === undefined) {
      unknown.push(fileName);
      part.file.resume();
      continue;
    }
    const file = path.join(folder, String(files.length));
    await pipeline(part.file, createWriteStream(file));
    if (part.file.truncated) throw tooLarge(fileName);
    files.push({ fileName, kind, open: () => createReadStream(file) });
  }
  return { files, unknown, fields };
}
