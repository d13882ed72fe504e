// Proves     what leaves for a chart is accepted by two public checkers of FHIR R4 (structure and invariants; required
//            codes) and by our own rules; each of the bad examples below is caught by at least one of them.
// Published  FHIR R4 4.0.1 definitions as carried by the checkers' packages; UCUM by a public UCUM library
// Tolerance  none
import { readFileSync } from 'node:fs';
import { UcumLhcUtils } from '@lhncbc/ucum-lhc';
import { describe, expect, it } from 'vitest';
import { instantMs, isRefusal, orThrow } from '@ebbline/core/quantity';
import { defaultSettings, type Entry } from '@ebbline/core/record';
import { entriesByPatient, foldPatient, type PatientFacts } from '@ebbline/core/facts';
import {
  checkBundle,
  checkResource,
  codeTable,
  localCodeSystem,
  patientBundle,
  unitWords,
  type Bundle,
  type Resource,
} from '@ebbline/interop/fhir';
import { entriesOfWardLog, readWardLog } from '@ebbline/interop/wardlog';
import {
  coastDirectory,
  coastZone,
  demoWorld,
  kneePatient,
  rightBedPatient,
  workedPatientFalseHigh,
  workedPatientKnee,
  workedPatientSilentMiss,
  workedPatientWrongBed,
  wrongBedPatient,
} from '@ebbline/simulate';
import { everyKind, everyKindPatient } from './every-kind.ts';
import { faultsOf, findings, throughXml, written } from './validators.ts';

const directory = coastDirectory();
const zone = coastZone;
const facts = (
  entries: readonly Entry[],
  patient: string,
  nowMs = Math.max(...entries.map((one) => instantMs(one.recordedAt))),
): PatientFacts => foldPatient({ patient, entries, nowMs, settings: defaultSettings, zone });
const bundleOf = (entries: readonly Entry[], patient: string, nowMs?: number): Bundle =>
  patientBundle({ facts: facts(entries, patient, nowMs), directory, organisation: 'selvoy-coast', zone });
const of = (bundle: Bundle, type: string): readonly Resource[] =>
  bundle.entry.map((one) => one.resource).filter((one) => one.resourceType === type);
const json = (value: unknown): string => JSON.stringify(value);

const courses: readonly (readonly [string, readonly Entry[]])[] = [
  ['knee replacement, read low and drained', workedPatientKnee()],
  ['read much, drained little', workedPatientFalseHigh()],
  ['unmeasured voids after birth', workedPatientSilentMiss()],
  ['typed into the wrong record', workedPatientWrongBed()],
  ['one entry of every kind', everyKind()],
];

describe('a patient as a FHIR bundle', () => {
  for (const [name, entries] of courses) {
    it(`is accepted by both checkers and our own rules: ${name}`, () => {
      const seen = new Set<string>();
      for (const [patient, mine] of entriesByPatient(entries)) {
        const bundle = bundleOf(mine, patient);
        expect(checkBundle(bundle).map((one) => one.where + ' ' + one.found)).toEqual([]);
        expect(faultsOf(bundle)).toEqual([]);
        for (const { resource } of bundle.entry) {
          seen.add(resource.resourceType);
          expect(faultsOf(resource), json(resource)).toEqual([]);
        }
      }
      for (const type of seen) expect(written).toContain(type);
    });
  }

  it('names every kind of entry, and nothing twice', () => {
    const bundle = bundleOf(everyKind(), everyKindPatient);
    const text = json(bundle);
    for (const entry of everyKind()) {
      if (entry.kind === 'patient-registered' || entry.kind === 'transferred') continue;
      // Who opened the record tells nothing of the patient: it stays in the record and its audit.
      if (entry.kind === 'opened-with-reason') {
        expect(text, entry.kind).not.toContain(entry.id);
        continue;
      }
      expect(text, entry.kind).toContain(entry.id);
    }
    const urls = bundle.entry.map((one) => one.fullUrl);
    expect(new Set(urls).size).toBe(urls.length);
  });

  it('changes nothing when it is sent again, and only the due items when time has passed', () => {
    const entries = workedPatientKnee();
    const now = Math.max(...entries.map((one) => instantMs(one.recordedAt)));
    const resources = (bundle: Bundle): Record<string, string> =>
      Object.fromEntries(bundle.entry.map((one) => [one.fullUrl, json(one.resource)]));
    expect(resources(bundleOf(entries, kneePatient, now))).toEqual(
      resources(bundleOf([...entries].reverse(), kneePatient, now)),
    );
    const [early, late] = [
      resources(bundleOf(entries, kneePatient, now)),
      resources(bundleOf(entries, kneePatient, now + 60 * 60_000)),
    ];
    for (const [url, text] of Object.entries(late))
      if (!url.includes('/Task/') && !url.includes('/DetectedIssue/')) expect(text, url).toBe(early[url]);
    for (const { request, fullUrl } of bundleOf(entries, kneePatient, now).entry) {
      expect(request?.method).toBe('PUT');
      expect(fullUrl.endsWith(`/${request?.url}`)).toBe(true);
    }
  });

  it('writes "at least" as FHIR\'s own comparator, and never for an exact reading', () => {
    for (const reading of of(bundleOf(workedPatientKnee(), kneePatient), 'Observation')) {
      const entry = workedPatientKnee().find((one) => one.id === reading.id);
      if (entry?.kind !== 'reading') continue;
      const value = reading['valueQuantity'] as { comparator?: string; value: number } | undefined;
      expect(value?.comparator).toBe(entry.payload.result === 'at-least' ? '>=' : undefined);
      expect(value?.value).toBe(entry.payload.volumeMl);
    }
    expect(
      workedPatientKnee().some((one) => one.kind === 'reading' && one.payload.result === 'at-least'),
    ).toBe(true);
  });

  it('gives a reason and no value for a reading that was not obtained, never 0 [H3-absent-is-not-zero]', () => {
    const entries = everyKind();
    const missing = entries.find((one) => one.kind === 'reading' && one.payload.result === 'not-obtained');
    const sent = of(bundleOf(entries, everyKindPatient), 'Observation').find((one) => one.id === missing?.id);
    expect(sent?.['valueQuantity']).toBeUndefined();
    expect(json(sent?.['dataAbsentReason'])).toContain('error');
    // and one that carries both is stopped before it leaves
    expect(
      checkResource({
        ...(sent as Resource),
        valueQuantity: { value: 0, unit: 'mL', system: 'http://unitsofmeasure.org', code: 'mL' },
      }).map((one) => one.code),
    ).toContain('fhir/value-and-absent');
  });

  it.each([
    ['none-seen', 'error'],
    ['pain', 'not-performed'],
    ['declined', 'not-performed'],
    ['scanner-missing', 'not-performed'],
    ['other', 'unknown'],
  ] as const)('says of a reading not obtained for "%s" that it is absent as "%s"', (reason, absent) => {
    const entries = everyKind().map((one) =>
      one.kind === 'reading' && one.payload.result === 'not-obtained'
        ? { ...one, payload: { ...one.payload, reasonNotObtained: reason } }
        : one,
    );
    const missing = entries.find((one) => one.kind === 'reading' && one.payload.result === 'not-obtained');
    const sent = of(bundleOf(entries, everyKindPatient), 'Observation').find((one) => one.id === missing?.id);
    expect(sent?.['dataAbsentReason']).toMatchObject({ coding: [{ code: absent }] });
  });

  it('calls a reading after a void a residual, and no other', () => {
    const entries = everyKind();
    const sent = of(bundleOf(entries, everyKindPatient), 'Observation');
    const relations = new Set<string>();
    for (const entry of entries) {
      if (entry.kind !== 'reading') continue;
      relations.add(entry.payload.relation);
      const text = json(sent.find((one) => one.id === entry.id)?.['code']);
      expect(text.includes('pvr-us'), entry.payload.relation).toBe(entry.payload.relation === 'after-void');
    }
    expect(relations.size).toBeGreaterThan(1);
  });

  it('says of a catheter that could not be passed that it was stopped, and of one withdrawn that it was an error', () => {
    const entries = everyKind();
    const failed = entries.find((one) => one.kind === 'drained' && one.payload.difficulty === 'failed');
    const passed = entries.find(
      (one) => one.kind === 'drained' && one.payload.route === 'in-out' && one.payload.difficulty === 'some',
    );
    const statusOf = (all: readonly Entry[], entry: Entry | undefined): unknown =>
      of(bundleOf(all, everyKindPatient), 'Procedure').find((one) =>
        json(one['identifier']).includes(entry?.id ?? '-'),
      )?.['status'];
    expect([statusOf(entries, failed), statusOf(entries, passed)]).toEqual(['stopped', 'completed']);
    const undone = entries.map((one) =>
      one.kind === 'withdrawn' ? { ...one, payload: { ...one.payload, of: passed?.id ?? one.id } } : one,
    );
    expect(statusOf(undone, passed)).toBe('entered-in-error');
  });

  it('keeps the old value of a correction, struck, with who, when and why', () => {
    const entries = workedPatientWrongBed();
    const wrong = bundleOf(entries, wrongBedPatient);
    const right = bundleOf(entries, rightBedPatient);
    const moved = entries.find((one) => one.kind === 'moved-to-patient');
    const of_ = moved?.kind === 'moved-to-patient' ? moved.payload.of : '';
    expect(of(wrong, 'Observation').find((one) => one.id === of_)?.['status']).toBe('entered-in-error');
    const live = of(right, 'Observation').filter(
      (one) => json(one['identifier']).includes(of_) && one['status'] === 'corrected',
    );
    expect(live).toHaveLength(1);
    expect(live[0]?.id).not.toBe(of_);
    for (const bundle of [wrong, right]) {
      for (const one of bundle.entry.map((entry) => entry.resource)) {
        if (one['status'] !== 'entered-in-error' && one['status'] !== 'corrected') continue;
        const told = of(bundle, 'Provenance').some((provenance) =>
          json(provenance).includes(`${one.resourceType}/${one.id}`),
        );
        // A procedure and its volume stand and fall together; one Provenance names them through either.
        if (one.resourceType === 'Observation') expect(told, json(one)).toBe(true);
      }
    }
  });

  it('gives every due item a time and an owner', () => {
    const nowMs = Date.parse('2026-05-14T16:00:00Z');
    const { entries } = demoWorld({ seed: 3, nowMs });
    const owners = new Set<string>();
    let tasks = 0;
    for (const [patient, mine] of entriesByPatient(entries)) {
      const folded = facts(mine, patient, nowMs);
      const bundle = patientBundle({ facts: folded, directory, organisation: 'selvoy-coast', zone });
      expect(checkBundle(bundle)).toEqual([]);
      const sent = of(bundle, 'Task').filter(
        (one) => one['status'] === 'requested' || one['status'] === 'accepted',
      );
      expect(sent).toHaveLength(folded.due.length);
      for (const task of sent) {
        tasks += 1;
        expect(faultsOf(task)).toEqual([]);
        const owner = (task['owner'] as { reference: string }).reference.split('/')[0] as string;
        owners.add(owner);
        if (owner === 'Organization') expect(json(task['performerType'])).toContain('role.');
        // A forecast's instant has milliseconds; the chart gets whole seconds, never a later one.
        expect(folded.due.map((one) => Math.floor(one.dueAtMs / 1000) * 1000)).toContain(
          Date.parse((task['restriction'] as { period: { end: string } }).period.end),
        );
      }
    }
    expect([...owners].filter((one) => one !== 'Practitioner' && one !== 'Organization')).toEqual([]);
    expect(tasks).toBeGreaterThan(0);
  });

  it('closes a due item under the id that it was sent with', () => {
    const entries = workedPatientKnee();
    const look = entries.find((one) => one.kind === 'step-advised' && one.payload.step === 'look-again');
    const call = everyKind().find((one) => one.kind === 'call-made');
    const task = (bundle: Bundle, because: string | undefined): Resource | undefined =>
      of(bundle, 'Task').find((one) => json(one['identifier']).includes(because ?? 'none'));
    const states = (course: readonly Entry[], patient: string, because: Entry | undefined): unknown[] => {
      const atMs = instantMs(because?.recordedAt ?? '');
      const then = bundleOf(
        course.filter((one) => instantMs(one.recordedAt) <= atMs),
        patient,
        atMs,
      );
      const now = bundleOf(course, patient);
      expect(task(now, because?.id)?.id).toBe(task(then, because?.id)?.id);
      return [task(then, because?.id)?.['status'], task(now, because?.id)?.['status']];
    };
    expect(states(entries, kneePatient, look)).toEqual(['requested', 'completed']);
    expect(states(everyKind(), everyKindPatient, call)).toEqual(['requested', 'completed']);
  });

  it('comes back unchanged from XML', () => {
    // The second checker gives decimals back as text: numbers are compared as they are written.
    const asText = (value: unknown): unknown =>
      JSON.parse(JSON.stringify(value, (_, one: unknown) => (typeof one === 'number' ? String(one) : one)));
    for (const type of ['Observation', 'Procedure', 'Patient']) {
      for (const resource of of(bundleOf(workedPatientKnee(), kneePatient), type))
        expect(asText(throughXml(resource))).toEqual(asText(resource));
    }
  });
});

const samples = process.env['EBBLINE_SAMPLES'];

describe.skipIf(!samples)('a public ward (needs EBBLINE_SAMPLES)', () => {
  it('gives bundles that both checkers and our own rules accept, every patient', () => {
    const folder = `${samples}/wards/public/pub-3`;
    const about = JSON.parse(readFileSync(`${folder}/ward.json`, 'utf8')) as { ward: string; zone: string };
    const { entries, directory: people } = entriesOfWardLog(
      orThrow(readWardLog(readFileSync(`${folder}/log.ndjson`, 'utf8'))),
      { organisation: 'org', ...about },
    );
    const nowMs = Math.max(...entries.map((one) => instantMs(one.recordedAt)));
    let patients = 0;
    for (const [patient, mine] of entriesByPatient(entries)) {
      patients += 1;
      const bundle = patientBundle({
        facts: foldPatient({ patient, entries: mine, nowMs, settings: defaultSettings, zone: about.zone }),
        directory: people,
        organisation: 'org',
        zone: about.zone,
      });
      expect(checkBundle(bundle)).toEqual([]);
      for (const { resource } of bundle.entry) expect(faultsOf(resource), json(resource)).toEqual([]);
    }
    expect(patients).toBe(24);
  });
});

describe('codes', () => {
  it('are all UCUM where they are units', () => {
    const ucum = UcumLhcUtils.getInstance();
    for (const code of Object.keys(unitWords))
      expect(ucum.validateUnitString(code).status, code).toBe('valid');
    for (const wrong of ['cc', 'mL/hr', 'Fr'])
      expect(ucum.validateUnitString(wrong).status, wrong).not.toBe('valid');
  });

  it('from LOINC and SNOMED CT have right check digits', () => {
    const luhn = (digits: string): number =>
      [...digits].reverse().reduce((sum, digit, index) => {
        const twice = Number(digit) * (index % 2 === 0 ? 2 : 1);
        return sum + (twice > 9 ? twice - 9 : twice);
      }, 0);
    const d5 = (a: number, b: number): number =>
      a < 5
        ? b < 5
          ? (a + b) % 5
          : ((a + (b - 5)) % 5) + 5
        : b < 5
          ? ((a - 5 - b + 5) % 5) + 5
          : (a - b + 5) % 5;
    const turn = [1, 5, 7, 6, 2, 8, 3, 0, 9, 4];
    const power = (times: number, digit: number): number => {
      let out = digit;
      for (let index = 0; index < times % 8; index += 1) out = turn[out] as number;
      return out;
    };
    const verhoeff = (code: string): number =>
      [...code].reverse().reduce((sum, digit, index) => d5(sum, power(index, Number(digit))), 0);
    for (const { also } of Object.values(codeTable)) {
      for (const { system, code } of also as readonly { system: string; code: string }[]) {
        if (system === 'http://loinc.org')
          expect((10 - (luhn(code.split('-')[0] as string) % 10)) % 10, code).toBe(
            Number(code.split('-')[1]),
          );
        if (system === 'http://snomed.info/sct') expect(verhoeff(code), code).toBe(0);
      }
    }
    expect(verhoeff('45253006')).not.toBe(0);
  });

  it('of our own that are sent are all in the published code system', () => {
    const known = new Set((localCodeSystem()['concept'] as { code: string }[]).map((one) => one.code));
    expect(faultsOf(localCodeSystem())).toEqual([]);
    const sent = json(bundleOf(everyKind(), everyKindPatient)).matchAll(
      /"system":"https:\/\/ebbline\.example\/fhir\/CodeSystem\/bladder-watch","code":"([^"]+)"/g,
    );
    for (const [, code] of sent) expect(known.has(code as string), code).toBe(true);
  });

  it('of the table can be replaced by a site without a release', () => {
    const codes = { ...codeTable, 'bladder-volume-us': { text: 'Blasenvolumen', also: [] } };
    const text = json(
      patientBundle({
        facts: facts(workedPatientKnee(), kneePatient),
        directory,
        organisation: 'selvoy-coast',
        zone,
        codes,
      }),
    );
    expect(text).toContain('Blasenvolumen');
  });
});

describe('bad examples are caught', () => {
  const good: Record<string, unknown> = {
    resourceType: 'Observation',
    id: 'o1',
    status: 'final',
    code: { text: 'Bladder volume by ultrasound' },
    subject: { reference: 'Patient/p1' },
    effectiveDateTime: '2026-11-25T09:30:00Z',
    valueQuantity: { value: 214, unit: 'mL', system: 'http://unitsofmeasure.org', code: 'mL' },
  };
  const without = (...names: readonly string[]): Record<string, unknown> =>
    Object.fromEntries(Object.entries(good).filter(([name]) => !names.includes(name)));

  it('a good one by none', () => {
    expect(faultsOf(good)).toEqual([]);
  });

  const bad: readonly (readonly [string, unknown, 'structure' | 'codes' | 'own'])[] = [
    ['no status', without('status'), 'structure'],
    ['no code', without('code'), 'structure'],
    ['an unknown field', { ...good, volumeCc: 214 }, 'structure'],
    ['a value as text', { ...good, valueQuantity: 'much' }, 'structure'],
    ['a date with slashes', { ...good, effectiveDateTime: '25/11/2026' }, 'structure'],
    ['status "done"', { ...good, status: 'done' }, 'codes'],
    ['two values', { ...good, valueString: '214' }, 'own'],
    ['a value with a reason for none', { ...good, dataAbsentReason: { text: 'Not obtained' } }, 'structure'],
    ['a subject that is a place', { ...good, subject: { reference: 'Location/w7' } }, 'own'],
    [
      'a unit code without its system',
      { ...good, valueQuantity: { value: 214, unit: 'mL', code: 'mL' } },
      'own',
    ],
    ['an empty list', { ...good, note: [] }, 'own'],
    ['null instead of a list', { ...good, note: null }, 'structure'],
    [
      'cubic centimetres',
      { ...good, valueQuantity: { value: 214, unit: 'cc', system: 'http://unitsofmeasure.org', code: 'cc' } },
      'own',
    ],
    [
      'a negative volume',
      { ...good, valueQuantity: { value: -5, unit: 'mL', system: 'http://unitsofmeasure.org', code: 'mL' } },
      'own',
    ],
    ['neither a value nor a reason', without('valueQuantity'), 'own'],
  ];
  for (const [name, resource, by] of bad) {
    it(`${name}, by the checker of ${by === 'own' ? 'our own rules' : by}`, () => {
      expect(findings(resource)[by]).not.toEqual([]);
    });
  }

  it('a reference that leads nowhere', () => {
    const bundle = bundleOf(workedPatientKnee(), kneePatient);
    const cut = { ...bundle, entry: bundle.entry.filter((one) => one.resource.resourceType !== 'Patient') };
    expect(checkBundle(cut).some((one) => isRefusal(one) && one.code === 'fhir/dangling')).toBe(true);
  });
});
