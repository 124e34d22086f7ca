import { z } from 'zod';

type Schema = {
  type?: string | string[];
  properties?: Record<string, Schema>;
  items?: Schema;
  anyOf?: Schema[];
  enum?: unknown[];
  const?: unknown;
  format?: string;
  minimum?: number;
  maximum?: number;
};

/**
 * Two letters' data made from the schema alone, so that a template can be tried before there is anybody to write to:
 * one with every field and three entries in each list, one with nothing that may be missing.
 */
export function sampleData(data: z.ZodType): object[] {
  const schema = z.toJSONSchema(data, { unrepresentable: 'any' }) as Schema;
  return [sample(schema, true) as object, sample(schema, false) as object];
}

function sample(schema: Schema, full: boolean): unknown {
  if (schema.const !== undefined) return schema.const;
  if (schema.enum) return schema.enum[0];
  if (schema.anyOf) {
    const missing = schema.anyOf.find(({ type }) => type === 'null');
    return !full && missing ? null : sample(schema.anyOf.find((one) => one !== missing)!, full);
  }
  if (schema.properties) {
    return Object.fromEntries(
      Object.entries(schema.properties).map(([name, inner]) => [name, sample(inner, full)]),
    );
  }
  if (schema.items) return full ? Array.from({ length: 3 }, () => sample(schema.items!, full)) : [];
  const types = [schema.type ?? 'string'].flat();
  if (!full && types.includes('null')) return null;
  switch (types.find((type) => type !== 'null')) {
    case 'integer':
    case 'number':
      return Math.min(schema.maximum ?? 7, Math.max(schema.minimum ?? 7, 7));
    case 'boolean':
      return full;
    default:
      return schema.format === 'date' ? '2031-09-06' : full ? 'A sample text' : '';
  }
}
