/**
 * Settings of the process, from the environment and the command line (which wins), checked together: every fault is
 * told at once, before anything starts.
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import { z } from 'zod';

const yesNo = z.enum(['on', 'off']).transform((word) => word === 'on');

const environment = z.object({
  EBBLINE_DATA: z.string().min(1).default('./data'),
  EBBLINE_PORT: z.coerce.number().int().min(0).max(65_535).default(8080),
  EBBLINE_HOST: z.string().min(1).default('127.0.0.1'),
  EBBLINE_WEB: z.string().min(1).optional(),
  EBBLINE_NOTICE_URL: z.url({ protocol: /^https?$/ }).optional(),
  EBBLINE_LOG: z.enum(['off', 'debug', 'info', 'warn', 'error']).optional(),
  EBBLINE_DEMO: yesNo.optional(),
  /** `on` behind TLS. */
  EBBLINE_SECURE_COOKIE: yesNo.default(false),
  /** `off` hides the names of the unit's people from the sign-in page. */
  EBBLINE_SIGN_IN_LIST: yesNo.default(true),
});

export interface Config {
  readonly dataFolder: string;
  readonly port: number;
  readonly host: string;
  readonly webFolder: string | undefined;
  readonly noticeUrl: string | undefined;
  readonly log: 'off' | 'debug' | 'info' | 'warn' | 'error' | undefined;
  readonly demo: boolean | undefined;
  readonly secureCookie: boolean;
  readonly listPeople: boolean;
}

/** What the command line may set over the environment. */
export interface Given {
  readonly data?: string | undefined;
  readonly port?: string | undefined;
}

/** A setting under the name by which it was given. */
const settingName = (name: string, given: Given): string =>
  name === 'EBBLINE_PORT' && given.port !== undefined
    ? '--port'
    : name === 'EBBLINE_DATA' && given.data !== undefined
      ? '--data'
      : name;

export function readConfig(
  env: Readonly<Record<string, string | undefined>>,
  given: Given = {},
): Config | Refusal {
  // An empty value means the same as none.
  const set = Object.fromEntries(
    Object.entries(env).filter(([name, value]) => name.startsWith('EBBLINE_') && value !== ''),
  );
  const read = environment.safeParse({
    ...set,
    ...(given.data === undefined ? {} : { EBBLINE_DATA: given.data }),
    ...(given.port === undefined ? {} : { EBBLINE_PORT: given.port }),
  });
  if (!read.success) {
    return refuse('server/config', {
      asked: 'Settings',
      found: read.error.issues
        .map((issue) => `${settingName(issue.path.join('.'), given)}: ${issue.message}`)
        .join('; '),
      allowed: 'a port from 0 to 65535; the other values in apps/server/README.md',
      todo: 'Correct every one of them and start again.',
    });
  }
  const value = read.data;
  return {
    dataFolder: value.EBBLINE_DATA,
    port: value.EBBLINE_PORT,
    host: value.EBBLINE_HOST,
    webFolder: value.EBBLINE_WEB,
    noticeUrl: value.EBBLINE_NOTICE_URL,
    log: value.EBBLINE_LOG,
    demo: value.EBBLINE_DEMO,
    secureCookie: value.EBBLINE_SECURE_COOKIE,
    listPeople: value.EBBLINE_SIGN_IN_LIST,
  };
}
