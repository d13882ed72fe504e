import type { App, Parts } from '../parts.ts';
import { anotherReadingRoutes } from './another-reading/another-reading.ts';
import { auditRoutes } from './audit/audit.ts';
import { directoryRoutes } from './directory/directory.ts';
import { entriesRoutes } from './entries/entries.ts';
import { bedRoutes } from './beds/beds.ts';
import { bundleRoutes } from './fhir/bundle.ts';
import { feedRoutes } from './feed/feed.ts';
import { healthRoutes } from './health/health.ts';
import { lengtheningRoutes } from './lengthening/lengthening.ts';
import { liveRoutes } from './live/live.ts';
import { lookingBackRoutes } from './looking-back/looking-back.ts';
import { meanwhileRoutes } from './meanwhile/meanwhile.ts';
import { meRoutes } from './me/me.ts';
import { openapiRoutes } from './openapi/openapi.ts';
import { protocolPrintRoutes } from './protocols/print.ts';
import { protocolRoutes } from './protocols/protocols.ts';
import { questionRoutes } from './question/question.ts';
import { resultsRoutes } from './results/results.ts';
import { reportRoutes } from './reports/reports.ts';
import { scannerRoutes } from './scanners/scanners.ts';
import { sealedRoutes } from './sealed/sealed.ts';
import { screenRoutes } from './screens/screens.ts';
import { signInRoutes } from './sign-in/sign-in.ts';
import { waysRoutes } from './ways/ways.ts';

/** Every group of routes; each route carries the rule that says who may call it. */
export const allRoutes: readonly ((app: App, parts: Parts) => void)[] = [
  signInRoutes,
  waysRoutes,
  meRoutes,
  directoryRoutes,
  entriesRoutes,
  sealedRoutes,
  liveRoutes,
  auditRoutes,
  questionRoutes,
  bundleRoutes,
  bedRoutes,
  reportRoutes,
  lengtheningRoutes,
  protocolRoutes,
  protocolPrintRoutes,
  lookingBackRoutes,
  meanwhileRoutes,
  anotherReadingRoutes,
  scannerRoutes,
  feedRoutes,
  resultsRoutes,
  healthRoutes,
  openapiRoutes,
  screenRoutes,
];
