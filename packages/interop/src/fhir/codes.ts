/**
 * The table that turns our words into codes. Every concept has a local code and text; public codes are further
 * codings, so that a wrong one can be taken out without touching anything else. A site passes its own table to
 * `patientBundle`. Only public codes marked as verified in docs/evidence/interop.sources.json stand here.
 *
 * LOINC: this material contains content from LOINC (http://loinc.org). LOINC is copyright Regenstrief Institute,
 * Inc. and the LOINC Committee and is available at no cost under the licence at http://loinc.org/license.
 *
 * Source    S-fhir-code-table
 */
import type { CodeableConcept, Coding } from './resource.ts';

export const localSystem = 'https://ebbline.example/fhir/CodeSystem/bladder-watch';

export const systems = {
  loinc: 'http://loinc.org',
  snomed: 'http://snomed.info/sct',
  dicom: 'http://dicom.nema.org/resources/ontology/DCM',
} as const;

export interface CodeRow {
  readonly text: string;
  /** Public codes that mean the same, each checked against a published use. */
  readonly also: readonly Coding[];
}

const loinc = (code: string, display: string): Coding => ({ system: systems.loinc, code, display });
const snomed = (code: string, display: string): Coding => ({ system: systems.snomed, code, display });
const dicom = (code: string, display: string): Coding => ({ system: systems.dicom, code, display });
const row = (text: string, ...also: readonly Coding[]): CodeRow => ({ text, also });

export const codeTable = {
  'bladder-volume-us': row('Bladder volume by ultrasound'),
  'pvr-us': row('Post-void residual by ultrasound'),
  'bladder-ultrasound': row('Bladder ultrasound', loinc('25019-1', 'US Urinary bladder')),
  'void-relation': row('Reading in relation to voiding'),
  'before-void': row('Before a void', dicom('109134', 'Prior to voiding')),
  'after-void': row('After a void', dicom('109135', 'Post voiding')),
  'no-void': row('Not tied to a void'),
  'time-since-void': row('Time since the void'),
  'reading-quality': row('Reason to doubt the reading'),
  'volume-interval': row('Where the volume probably lies, nine times in ten'),
  'repeat-volume': row('Repeat at the same look'),
  width: row('Width of the bladder'),
  height: row('Height of the bladder'),
  depth: row('Depth of the bladder'),
  'volume-coefficient': row('Coefficient used for the volume'),
  position: row('Position of the patient'),
  'by-calipers': row('Worked out from three diameters', dicom('121221', 'Volume of ellipsoid')),
  'voided-volume': row('Voided volume', loinc('9187-6', 'Urine output')),
  'void-size': row('Size of a void, by eye'),
  urge: row('Urge to void', snomed('75088002', 'Urgent desire to urinate')),
  'urine-colour': row('Colour of the urine'),
  'pad-weight-gain': row('Pad weight gain'),
  'drained-in-out': row(
    'Drained volume, intermittent catheter',
    loinc('9195-9', 'Urine output by in and out urethral catheter'),
  ),
  'drained-indwelling': row('Drained volume, indwelling catheter', loinc('9187-6', 'Urine output')),
  'bag-volume': row('Urine gathered in a catheter bag', loinc('9187-6', 'Urine output')),
  'intake-oral': row('Fluid taken by mouth', loinc('9000-1', 'Fluid intake oral Measured')),
  'intake-iv': row('Fluid given into a vein'),
  'body-weight': row('Body weight', loinc('29463-7', 'Body weight')),
  'own-capacity': row("This person's own bladder capacity"),
  limit: row("This person's limit"),
  creatinine: row('Creatinine'),
  potassium: row('Potassium'),
  'usual-systolic': row("This person's usual systolic pressure"),
  context: row('What may change filling or voiding'),
  symptom: row('Bladder symptom'),
  'symptom-severity': row('Severity, 1 to 3'),
  'catheter-status': row('State of the catheter'),
  'catheter-review': row('Catheter reviewed: still needed'),
  told: row('Told by the patient or somebody else'),
  'instilled-volume': row('Put into the bladder before a void trial'),
  'protocol-moved': row('Moved to another version of the protocol'),
  consent: row('Agreed or declined'),
  'watch-event': row('What became of the watch'),
  'step-answered': row('Advised step taken or departed from'),
  'intermittent-catheterisation': row(
    'Intermittent catheterisation',
    snomed('410024004', 'Catheterization of urinary bladder'),
  ),
  'indwelling-catheterisation': row(
    'Indwelling catheter placed',
    snomed('410024004', 'Catheterization of urinary bladder'),
  ),
  'catheter-removal': row('Catheter removed', snomed('43748006', 'Removal of urinary bladder catheter')),
  'urinary-catheter': row('Urinary catheter', snomed('20568009', 'Urinary catheter, device')),
  'catheter-gauge': row('Gauge'),
  scanner: row('Bladder ultrasound scanner'),
  bladder: row('Bladder', snomed('89837001', 'Bladder')),
  watch: row('Bladder watch', loinc('25019-1', 'US Urinary bladder')),
  'measurement-overdue': row('Overdue'),
  'late-detection': row('First known to be over the limit after the event'),
  caution: row('Caution'),
  'red-flag': row('Warning sign'),
  call: row('Call'),
  'call-reply': row('Answer to a call'),
  handover: row('Handover'),
  'overdue-seen': row('Overdue item acknowledged'),
  'due-item': row('Due'),
  correction: row('Correction'),
} as const satisfies Record<string, CodeRow>;

export type CodeKey = keyof typeof codeTable;
export type CodeTable = Readonly<Record<CodeKey, CodeRow>>;

/** Local code and text, then the public codes. */
export function concept(table: CodeTable, key: CodeKey, text: string = table[key].text): CodeableConcept {
  return { coding: [{ system: localSystem, code: key, display: table[key].text }, ...table[key].also], text };
}

/** A word of one of the record's closed lists, as a local code: `doubt.cut-below`. */
export function wordConcept(list: string, word: string, text: string): CodeableConcept {
  return { coding: [{ system: localSystem, code: `${list}.${word}`, display: text }], text };
}
