/** What somebody did with a record, in words: the same on the page of the privacy officer, on paper and in the table. */
import type { UnusualMark } from '../facts/index.ts';
import type { EntryKind } from '../record/index.ts';
import * as labels from './labels.ts';

/** What was shown on a tablet, by the page that showed it. */
const shown: Readonly<Record<string, string>> = {
  patient: 'Opened the patient’s page',
  entry: 'Opened a form to record something',
  images: 'Opened the images',
  telephone: 'Opened the sheet for the telephone',
  'new-patient': 'Opened the form of a new patient',
  board: 'Looked at the board',
  handover: 'Looked at the handover',
  unit: 'Looked at the unit’s figures',
  wall: 'Put up the board without names',
  protocol: 'Looked at the protocol',
  practice: 'Practised',
  'who-looked': 'Asked who looked',
  'who-looked-printed': 'Printed who looked',
};
/** What the ward's record gave out, by its name in the audit. */
const read: Readonly<Record<string, string>> = {
  record: 'Took the ward’s record onto a tablet',
  live: 'Followed the ward’s record live',
  practice: 'Read results of practice',
  question: 'Checked an entry before saving it',
  'another-reading': 'Asked what another reading would bring',
  'looking-back': 'Looked back at an earlier minute',
  'who-looked': 'Asked who looked',
  'what-looked-at': 'Asked what one person looked at',
  'find-patient': 'Looked for a patient',
};
const takenOut: Readonly<Record<string, string>> = {
  'patient.pdf': 'Printed the patient’s page',
  'handover.pdf': 'Printed the handover sheet',
  'fhir-bundle': 'Took the record out as FHIR',
  'who-looked.csv': 'Took out who looked, as a table',
};
const ways: Readonly<Record<string, string>> = {
  secret: 'with the secret',
  pin: 'with a PIN',
  badge: 'with a badge',
  'badge-and-pin': 'with a badge and a PIN',
  passkey: 'with a passkey',
};
const others: Readonly<Record<string, string>> = {
  'signed-in': 'Signed in',
  'sign-in-refused': 'A sign-in was refused',
  switched: 'Took over the tablet',
  'signed-out': 'Signed out',
  'notice-sent': 'A notice of an overdue item was sent',
  'account-changed': 'Set somebody’s secret or PIN',
  'directory-changed': 'Changed the list of people and wards',
  'lengthening-signed': 'Signed that the forecast may lengthen an interval',
  'lengthening-taken-back': 'Took that signature back',
  'protocol-sent': 'Sent a protocol',
  'protocol-published': 'Published a protocol',
  'protocol-retired': 'Retired a protocol',
  'passkey-added': 'Added a passkey',
  'passkey-removed': 'Took a passkey away',
  'badge-set': 'Set a badge',
  'badge-removed': 'Took a badge away',
};

/** A sentence without its end: "Printed the handover sheet". An action without words of its own is named as it stands. */
export function auditWords(action: string, subject: string, way?: string): string {
  const [name = ''] = subject.split(' ');
  const found =
    action === 'viewed'
      ? shown[name]
      : action === 'read'
        ? read[name]
        : action === 'exported'
          ? (takenOut[name] ?? `Took out ${name}`)
          : others[action];
  const words = found ?? `${action} ${name}`.replaceAll('-', ' ');
  const how = way === undefined ? undefined : ways[way];
  return how === undefined ? words : `${words} ${how}`;
}

/** What an entry did to the record. */
export type RecordedAs = 'recorded' | 'corrected' | 'withdrawn' | 'moved';
export const recordedAs = (kind: EntryKind, corrects: boolean): RecordedAs =>
  corrects
    ? 'corrected'
    : kind === 'withdrawn'
      ? 'withdrawn'
      : kind === 'moved-to-patient'
        ? 'moved'
        : 'recorded';

export function recordedWords(kind: EntryKind, corrects: boolean): string {
  const as = recordedAs(kind, corrects);
  if (as === 'withdrawn') return 'Took an entry back';
  if (as === 'moved') return 'Moved an entry to another patient';
  return `${as === 'corrected' ? 'Corrected' : 'Recorded'}: ${labels.kinds[kind].toLowerCase()}`;
}

export const unusualWords: Readonly<Record<UnusualMark, string>> = {
  'other-ward': 'The patient was on another ward than this person.',
  'had-left': 'The patient had left this person’s ward.',
  'with-reason': 'This person had opened the record from another ward and given a reason.',
  'watch-over': 'The patient’s watch had ended.',
  'told-later': 'The tablet told of it later; the time is the tablet’s own.',
  carried: 'It was sent in somebody else’s sign-in on the same tablet.',
};
