import { z } from 'zod';
import { letterKinds } from './letter-data.ts';
import { paperSizes } from './pdf/style.ts';

// What the routes of letters have in common.

export const papers = Object.keys(paperSizes) as [keyof typeof paperSizes, ...(keyof typeof paperSizes)[]];
export const tags = ['letters'];
export const seasonAddress = z.object({ seasonId: z.uuid() });
export const batchAddress = z.object({ batchId: z.uuid() });
export const letterAddress = z.object({ letterId: z.uuid() });
export const kindQuery = z.object({ kind: z.enum(letterKinds).default('end-of-season') });
export const paperQuery = z.object({ paper: z.enum(papers).default('Letter') });

export const instant = z.iso.datetime();

/** As JSON carries it: instants as text. */
type Plain<T> = T extends Date ? string : T extends object ? { [Key in keyof T]: Plain<T[Key]> } : T;
export const plain = <T>(value: T): Plain<T> => JSON.parse(JSON.stringify(value));
