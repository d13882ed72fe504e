/**
 * A name for each request, the same in the answer's head, in every line of the log, and in a proxy's log when that one
 * made it. Only a UUID is taken over: anything else could carry words that a log is not to hold.
 */
import { randomBytes } from 'node:crypto';
import type { IncomingHttpHeaders } from 'node:http';

const uuid = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/i;

/** @param start tells this process from others and from its own earlier runs */
export function requestIds(
  start = randomBytes(4).toString('hex'),
): (request: { readonly headers: IncomingHttpHeaders }) => string {
  let count = 0;
  return ({ headers }) => {
    const given = headers['x-request-id'];
    if (typeof given === 'string' && uuid.test(given)) return given.toLowerCase();
    count += 1;
    return `${start}-${count}`;
  };
}
