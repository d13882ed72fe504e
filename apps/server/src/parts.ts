import type { FastifyBaseLogger, FastifyInstance, RawServerDefault } from 'fastify';
import type { IncomingMessage, ServerResponse } from 'node:http';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import type { EntryStore } from '@ebbline/store';
import type { RecentLooks } from './audit/note-request.ts';
import type { PatientFinder } from './audit/patient-finder.ts';
import type { AccountBook } from './accounts/account-book.ts';
import type { Sessions } from './accounts/sessions.ts';
import type { Site } from './accounts/passkeys.ts';
import type { SignInPace } from './accounts/sign-in-pace.ts';
import type { Tries } from './accounts/tries.ts';
import type { WaysBook } from './accounts/ways-book.ts';
import type { TokenBook } from './accounts/tokens.ts';
import type { DirectoryBook } from './directory-book.ts';
import type { Downtime } from './downtime/downtime.ts';
import type { LiveBoard } from './live/live-board.ts';
import type { PatientFeed } from './wires/patient-feed.ts';
import type { ResultFeed } from './wires/result-feed.ts';
import type { Health } from './operations/checks.ts';
import type { ProtocolBook } from './protocol-book.ts';
import type { Reaches } from './reach.ts';
import type { RecordView } from './record-view.ts';
import type { HeldBook } from './sealing/held-book.ts';
import type { SealingKey } from './sealing/sealing-key.ts';

/** The server as routes see it. */
export type App = FastifyInstance<
  RawServerDefault,
  IncomingMessage,
  ServerResponse,
  FastifyBaseLogger,
  ZodTypeProvider
>;

/** What the demo shows on its sign-in page. */
export interface Demo {
  readonly secret: string;
  readonly pin: string;
}

/** What routes work with. */
export interface Parts {
  readonly store: EntryStore;
  readonly directory: DirectoryBook;
  readonly protocols: ProtocolBook;
  readonly accounts: AccountBook;
  readonly tokens: TokenBook;
  readonly sessions: Sessions;
  readonly secretTries: Tries;
  readonly pinTries: Tries;
  /** Challenges that were answered, and badges that were shown. */
  readonly wayTries: Tries;
  readonly pace: SignInPace;
  readonly ways: WaysBook;
  /** Address and name of the pages, for passkeys; from the request where the unit has not set it. */
  readonly site: Site | undefined;
  readonly live: LiveBoard;
  /** The hospital's patient messages, where they come in. */
  readonly feed: PatientFeed | undefined;
  /** What is charted, on its way to the hospital's record, where one is set. */
  readonly results: ResultFeed | undefined;
  readonly view: RecordView;
  readonly finder: PatientFinder;
  readonly recent: RecentLooks;
  readonly reaches: Reaches;
  readonly sealing: SealingKey;
  readonly held: HeldBook;
  readonly health: Health;
  readonly downtime: Downtime | undefined;
  readonly now: () => number;
  readonly demo: Demo | undefined;
  readonly listPeople: boolean;
  readonly webFolder: string | undefined;
  readonly cookie: { readonly name: string; readonly secure: boolean };
  readonly signInsPerMinute: number;
}
