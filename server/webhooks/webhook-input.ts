import { z } from 'zod';
import { typedText } from '../text/typed-text.ts';
import { eventNames } from './events.ts';
import { addressFault } from './public-address.ts';

/**
 * What a webhook is made of.
 * @param toLoopback whether this machine may be told too, also without TLS
 */
export const webhookInput = (toLoopback: boolean) =>
  z.object({
    address: typedText({
      least: 1,
      most: 500,
      tooShort: 'Write the address to send to.',
      tooLong: 'Write the address in at most 500 characters.',
    })
      .superRefine((text, context) => {
        const fault = addressFault(text, toLoopback);
        if (fault !== null) context.addIssue({ code: 'custom', message: fault });
      })
      .describe('Where to send to, by https.'),
    events: z
      .array(z.enum(eventNames, 'Choose events from the list.'), 'Choose at least one event.')
      .min(1, 'Choose at least one event.')
      .max(eventNames.length, 'Name each event once.')
      .refine((given) => new Set(given).size === given.length, 'Name each event once.')
      .describe('What it is told of.'),
  });
export type WebhookInput = z.infer<ReturnType<typeof webhookInput>>;
