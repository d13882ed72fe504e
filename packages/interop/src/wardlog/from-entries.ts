/**
 * Entries of the record as ward logs, one for each ward.
 *
 * Out       lines of `wardlog-1` in charting order, numbered anew, and what had no place in the format, counted
 * Keeps     everything that the estimate uses, with its corrections: an estimate from the log equals one from the
 *           entries. Instants are whole seconds in the ward's zone.
 * Not kept  advice, calls, owners, consent, notes; a reading's own interval; a catheter found blocked or clamped; a
 *           limit changed during the watch (see docs/guide/formats.md)
 * Source    S-wardlog-1
 */
import { ageInYears, controlIsOn, instantInZone, instantMs } from '@ebbline/core/quantity';
import { unreliableCautions } from '@ebbline/core/facts';
import type { Directory, Entry } from '@ebbline/core/record';
import { madeOnDevice, padMl, placeNotes, unnamedAuthor } from './stand-ins.ts';

export interface WrittenWardLog {
  readonly ward: string;
  readonly zone: string;
  /** Content of ward.json. */
  readonly about: Readonly<Record<string, unknown>>;
  /** Content of log.ndjson. */
  readonly text: string;
  readonly lines: number;
}

export interface WrittenWardLogs {
  readonly logs: readonly WrittenWardLog[];
  /** What the format has no place for: description → how many. */
  readonly leftOut: Readonly<Record<string, number>>;
}

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;
type Fields = Record<string, unknown>;

const logDoubts = new Set(['cut-below', 'second-fluid', 'unsure-aim', 'poor-contact', 'moved']);
const doubtAs: Readonly<Record<string, string>> = { 'edge-outside': 'cut-below', shadow: 'cut-below' };
const logCautions = new Set(['ascites', 'large-uterus', 'obesity']);
const settingAs: Readonly<Record<string, string>> = {
  'after-surgery': 'after-surgery',
  'catheter-removed': 'catheter-removed',
  'after-birth': 'after-birth',
  'stroke-or-rehabilitation': 'stroke',
  'spinal-cord': 'spinal-cord',
  'intermittent-programme': 'spinal-cord',
};
const watchTopics = new Set(['weight-kg', 'own-capacity-ml', 'limit-ml']);
const rank = (entry: Entry): number =>
  entry.kind === 'withdrawn'
    ? 3
    : entry.corrects !== undefined
      ? 2
      : entry.kind === 'moved-to-patient'
        ? 1
        : 0;
const bare = (ward: string, id: string): string =>
  id.startsWith(`${ward}-`) ? id.slice(ward.length + 1) : id;

/** The ward where each patient is last said to be. */
function wardsOfPatients(entries: readonly Entry[]): ReadonlyMap<string, string> {
  const found = new Map<string, { ward: string; atMs: number }>();
  for (const entry of entries) {
    if (entry.kind !== 'patient-registered' && entry.kind !== 'transferred') continue;
    const atMs = instantMs(entry.effectiveAt);
    if ((found.get(entry.patient)?.atMs ?? Number.NEGATIVE_INFINITY) <= atMs)
      found.set(entry.patient, { ward: entry.payload.ward, atMs });
  }
  return new Map([...found].map(([patient, { ward }]) => [patient, ward]));
}

class Writer {
  readonly leftOut: Record<string, number>;
  readonly rows: Fields[] = [];
  private readonly current = new Map<string, { line: string; fields: Fields }>();
  private readonly ward: string;
  private readonly zone: string;
  private readonly all: readonly Entry[];
  private readonly byId: ReadonlyMap<string, Entry>;
  private readonly ofPatient: ReadonlyMap<string, readonly Entry[]>;
  private readonly unitLimitMl: number;
  private readonly setAside: ReadonlySet<string>;
  private readonly absorbed = new Set<string>();

  constructor(
    ward: string,
    zone: string,
    all: readonly Entry[],
    unitLimitMl: number,
    leftOut: Record<string, number>,
  ) {
    this.ward = ward;
    this.zone = zone;
    this.all = all;
    this.byId = new Map(all.map((one) => [one.id, one]));
    this.ofPatient = Map.groupBy(all, (one) => one.patient);
    this.unitLimitMl = unitLimitMl;
    this.leftOut = leftOut;
    this.setAside = new Set(
      all.flatMap((one) =>
        one.kind === 'withdrawn' || one.kind === 'moved-to-patient'
          ? [one.payload.of]
          : one.corrects === undefined
            ? []
            : [one.corrects],
      ),
    );
  }

  private at(instant: string): string {
    return instantInZone(instantMs(instant), this.zone);
  }

  private count(what: string): undefined {
    this.leftOut[what] = (this.leftOut[what] ?? 0) + 1;
    return undefined;
  }

  /** What the watch line carries about the patient: known by then, else the first that became known. */
  private about<Kind extends Entry['kind']>(
    watch: Of<'watch-opened'>,
    kind: Kind,
    which: (entry: Of<Kind>) => boolean,
  ): Of<Kind> | undefined {
    const candidates = (this.ofPatient.get(watch.patient) ?? []).filter(
      (one): one is Of<Kind> => one.kind === kind && !this.setAside.has(one.id) && which(one as Of<Kind>),
    );
    const known = candidates.filter((one) => instantMs(one.recordedAt) <= instantMs(watch.recordedAt));
    const chosen = known.at(-1) ?? candidates[0];
    if (chosen !== undefined) this.absorbed.add(chosen.id);
    return chosen;
  }

  private watchFields(entry: Of<'watch-opened'>): Fields | undefined {
    const setting = settingAs[entry.payload.setting];
    if (setting === undefined) return this.count(`watch of setting ${entry.payload.setting}`);
    const identity = this.about(entry, 'patient-registered', () => true);
    const value = (topic: string): number | undefined =>
      this.about(entry, 'context', (one) => one.payload.topic === topic)?.payload.value;
    const weightKg = value('weight-kg');
    const ownCapacityMl = value('own-capacity-ml');
    const limitMl = value('limit-ml') ?? ownCapacityMl ?? this.unitLimitMl;
    const born = identity?.payload.birthDate;
    const ageY =
      identity?.payload.ageYears ??
      (born === undefined ? undefined : ageInYears(born, instantMs(entry.effectiveAt), this.zone));
    const sex = identity?.payload.sex;
    if (weightKg === undefined || ageY === undefined || (sex !== 'female' && sex !== 'male'))
      return this.count('watch without weight, age or sex');
    const mine = this.ofPatient.get(entry.patient) ?? [];
    const cautions = mine.filter(
      (one): one is Of<'caution'> =>
        one.kind === 'caution' &&
        !this.setAside.has(one.id) &&
        one.payload.present &&
        logCautions.has(one.payload.caution),
    );
    for (const one of cautions) this.absorbed.add(one.id);
    const effectiveMs = instantMs(entry.effectiveAt);
    const tube = mine
      .filter(
        (one) =>
          !this.setAside.has(one.id) &&
          (one.kind === 'catheter-placed' || one.kind === 'catheter-removed') &&
          instantMs(one.effectiveAt) <= effectiveMs,
      )
      .sort((a, b) => instantMs(a.effectiveAt) - instantMs(b.effectiveAt))
      .at(-1);
    const catheterInPlace = tube?.kind === 'catheter-placed';
    if (
      catheterInPlace &&
      instantMs(tube.effectiveAt) === effectiveMs &&
      instantMs(tube.recordedAt) === instantMs(entry.recordedAt)
    )
      this.absorbed.add(tube.id);
    return {
      kind: 'watch',
      setting,
      ageY,
      sex,
      weightKg,
      limitMl: Math.round(limitMl),
      ...(ownCapacityMl === undefined ? {} : { ownCapacityMl: Math.round(ownCapacityMl) }),
      cautions: [...new Set(cautions.map((one) => one.payload.caution))],
      catheterInPlace,
      ...(entry.payload.lastVoidAt === undefined ? {} : { lastVoidAt: this.at(entry.payload.lastVoidAt) }),
    };
  }

  private readingFields({ id, payload }: Of<'reading'>): Fields | undefined {
    if (payload.volumeMl === undefined) return this.count('reading not obtained');
    const doubts = new Set<string>();
    for (const doubt of payload.doubts) {
      const as = doubtAs[doubt] ?? doubt;
      if (logDoubts.has(as)) doubts.add(as);
      else this.count(`doubt ${doubt}`);
    }
    if (payload.lowMl !== undefined && payload.highMl !== undefined) this.count("a reading's own interval");
    return {
      kind: 'reading',
      volumeMl: payload.volumeMl,
      bound: payload.result === 'at-least' ? 'at-least' : 'exact',
      doubts: [...doubts],
      afterVoid: payload.relation === 'after-void',
      ...(payload.sinceVoidMin === undefined ? {} : { minutesSinceVoid: payload.sinceVoidMin }),
      look: payload.look ?? id,
      ...(payload.scanner === undefined ? {} : { device: bare(this.ward, payload.scanner) }),
    };
  }

  private fieldsOf(entry: Entry): Fields | undefined {
    switch (entry.kind) {
      case 'watch-opened':
        return this.watchFields(entry);
      case 'reading':
        return this.readingFields(entry);
      case 'void': {
        const { how, volumeMl, padG, size, sinceAt, note, lowMl } = entry.payload;
        // A pad that was only described has the bounds of its size; the log says the size.
        const ofPad = note === placeNotes.pad && size !== undefined && lowMl === padMl[size][0];
        if (lowMl !== undefined && !ofPad) this.count("a void's own bounds");
        const measured = how === 'measured' || how === 'mixed';
        const kind =
          how === 'measured'
            ? 'jug'
            : how === 'mixed'
              ? 'mixed-stool'
              : how === 'lost'
                ? 'bed'
                : how === 'pad-weighed' || note === placeNotes.pad
                  ? 'pad'
                  : note === placeNotes.shower
                    ? 'shower'
                    : 'toilet';
        return {
          kind: 'void',
          measured,
          class: kind,
          ...(measured ? { volumeMl } : {}),
          ...(padG === undefined ? {} : { padG }),
          ...(size === undefined ? {} : { size }),
          ...(sinceAt === undefined ? {} : { sinceAt: this.at(sinceAt) }),
        };
      }
      case 'drained': {
        const { route, volumeMl, difficulty } = entry.payload;
        if (difficulty === 'failed') return this.count('catheterisation that did not succeed');
        if (route === 'from-catheter') return this.count('urine drawn from a catheter in place');
        return {
          kind: 'drained',
          measured: volumeMl !== undefined,
          ...(volumeMl === undefined ? {} : { volumeMl }),
          route: route === 'left-in' ? 'indwelling' : 'in-out',
        };
      }
      case 'catheter-placed':
        return { kind: 'catheter', action: 'inserted', route: 'urethral' };
      case 'catheter-removed':
        return { kind: 'catheter', action: 'removed' };
      case 'catheter-status':
        return entry.payload.status === 'flushed'
          ? { kind: 'catheter', action: 'flushed' }
          : this.count(`catheter ${entry.payload.status}`);
      case 'bag-read':
        return {
          kind: 'bag',
          volumeMl: entry.payload.volumeMl,
          emptied: entry.payload.emptied,
          sinceAt: this.at(entry.payload.sinceAt),
        };
      case 'intake':
        return {
          kind: 'intake',
          volumeMl: entry.payload.volumeMl,
          route: entry.payload.route,
          ...(entry.payload.overMin === undefined ? {} : { overMin: entry.payload.overMin }),
        };
      case 'symptom':
        if (entry.payload.symptom === 'leaking' || entry.payload.symptom === 'comfortable')
          return this.count(`symptom ${entry.payload.symptom}`);
        return {
          kind: 'symptom',
          symptom: entry.payload.symptom,
          ...(entry.payload.severity === undefined ? {} : { severity: entry.payload.severity }),
        };
      case 'context': {
        const { topic, state, value, route } = entry.payload;
        const states: Readonly<Record<string, string>> = {
          'regional-block': state === 'worn-off' ? 'worn-off' : 'present',
          opioid: 'given',
          dialysis: 'little-or-no-urine',
          'loop-diuretic': 'given',
        };
        const as = states[topic];
        if (as === undefined) return this.count(`context ${topic}`);
        return {
          kind: 'context',
          topic,
          state: as,
          ...(route === undefined ? {} : { route }),
          ...(topic === 'loop-diuretic' && value !== undefined && value > 0 ? { doseMg: value } : {}),
        };
      }
      default:
        return this.count(entry.kind);
    }
  }

  private write(entry: Entry, fields: Fields, more: Fields = {}): string {
    const id = `${this.ward}-e${String(this.rows.length + 1).padStart(4, '0')}`;
    const named = entry.kind === 'reading' || entry.kind === 'drained' ? entry.payload.operator : undefined;
    const operator = named ?? (entry.author === unnamedAuthor(this.ward) ? undefined : entry.author);
    const device =
      entry.kind === 'reading' ? entry.payload.source === 'device' : entry.madeOn === madeOnDevice;
    const { kind, ...rest } = fields;
    this.rows.push({
      id,
      kind,
      patient: entry.patient,
      at: this.at(entry.effectiveAt),
      atQuality: entry.timeQuality,
      recordedAt: this.at(entry.recordedAt),
      source: device ? 'device' : 'typed',
      ...rest,
      ...(operator === undefined ? {} : { operator: bare(this.ward, operator) }),
      ...more,
    });
    return id;
  }

  add(entry: Entry): void {
    if (entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient') {
      const old = this.current.get(entry.payload.of);
      const of = this.byId.get(entry.payload.of);
      if (old === undefined || of === undefined) {
        if (!this.absorbed.has(entry.payload.of))
          this.count(`${entry.kind} of an entry that is not in the log`);
        return;
      }
      const amended = { ...of, effectiveAt: of.effectiveAt, recordedAt: entry.recordedAt } as Entry;
      if (entry.kind === 'withdrawn') {
        const { kind } = old.fields;
        const reason = entry.payload.reason === 'duplicate' ? 'duplicate' : 'typing';
        // The format wants a volume on every intake and none on a withdrawal: an intake is replaced by one of 0 mL.
        if (kind === 'intake')
          this.write(amended, { ...old.fields, volumeMl: 0 }, { replaces: old.line, reason });
        else {
          // A watch, a context, a catheter or a symptom keeps its required fields; the others go without.
          const keeps = ['watch', 'context', 'catheter', 'symptom'].includes(String(kind))
            ? old.fields
            : { kind };
          this.write(amended, keeps, { withdrawn: true, replaces: old.line, reason });
        }
        this.current.delete(entry.payload.of);
      } else {
        const line = this.write({ ...amended, patient: entry.payload.toPatient } as Entry, old.fields, {
          replaces: old.line,
          reason: 'wrong-patient',
        });
        this.current.set(entry.payload.of, { line, fields: old.fields });
      }
      return;
    }
    if (this.absorbed.has(entry.id) || entry.kind === 'patient-registered') return;
    if (entry.kind === 'context' && watchTopics.has(entry.payload.topic)) {
      if (!this.setAside.has(entry.id)) this.count(`context ${entry.payload.topic} beside the watch`);
      return;
    }
    if (entry.kind === 'caution') {
      if (!this.setAside.has(entry.id)) this.count(`caution ${entry.payload.caution}`);
      return;
    }
    const fields = this.fieldsOf(entry);
    if (fields === undefined) return;
    const old = entry.corrects === undefined ? undefined : this.current.get(entry.corrects);
    const line = this.write(entry, fields, old === undefined ? {} : { replaces: old.line, reason: 'typing' });
    this.current.set(entry.id, { line, fields });
  }

  /** Watches first: they take up registration, weight, limit and cautions, whatever their order. */
  absorb(): void {
    const before = { ...this.leftOut };
    for (const one of this.all) if (one.kind === 'watch-opened') this.watchFields(one);
    for (const key of Object.keys(this.leftOut)) delete this.leftOut[key];
    Object.assign(this.leftOut, before);
  }
}

/**
 * Patients in whom no estimate is valid for a reason that the format cannot say. Written without that reason, the log
 * would give a number where the record gives none; so they are left out whole, and counted.
 */
function patientsLeftOut(entries: readonly Entry[], leftOut: Record<string, number>): ReadonlySet<string> {
  const without = new Set<string>();
  if (!controlIsOn('H8-no-number-from-a-log')) return without;
  const setAside = new Set(
    entries.flatMap((one) =>
      one.kind === 'withdrawn' || one.kind === 'moved-to-patient'
        ? [one.payload.of]
        : one.corrects === undefined
          ? []
          : [one.corrects],
    ),
  );
  for (const entry of entries) {
    if (entry.kind !== 'caution' || !entry.payload.present || setAside.has(entry.id)) continue;
    const { caution } = entry.payload;
    if (logCautions.has(caution) || !unreliableCautions.includes(caution) || without.has(entry.patient))
      continue;
    without.add(entry.patient);
    const what = `patient with ${caution}`;
    leftOut[what] = (leftOut[what] ?? 0) + 1;
  }
  return without;
}

export function wardLogOfEntries(entries: readonly Entry[], directory: Directory): WrittenWardLogs {
  const homes = wardsOfPatients(entries);
  const movedTo = new Map(
    entries.flatMap((one) =>
      one.kind === 'moved-to-patient' ? [[one.payload.of, one.payload.toPatient] as const] : [],
    ),
  );
  const leftOut: Record<string, number> = {};
  const byWard = new Map<string, Entry[]>();
  const without = patientsLeftOut(entries, leftOut);
  for (const entry of entries) {
    if (without.has(entry.patient)) continue;
    // A moved entry goes with the ward of the chart it was first written in, so that both lines stand in one log.
    const ward = homes.get(entry.patient) ?? homes.get(movedTo.get(entry.id) ?? '') ?? 'no-ward';
    const held = byWard.get(ward);
    if (held === undefined) byWard.set(ward, [entry]);
    else held.push(entry);
  }
  const logs = [...byWard].map(([ward, mine]): WrittenWardLog => {
    const known = directory.wards.find((one) => one.id === ward);
    const zone = known?.zone ?? directory.wards[0]?.zone ?? 'UTC';
    const sorted = mine
      .map((entry, index) => ({ entry, index }))
      .sort(
        (a, b) =>
          instantMs(a.entry.recordedAt) - instantMs(b.entry.recordedAt) ||
          rank(a.entry) - rank(b.entry) ||
          a.index - b.index,
      )
      .map((one) => one.entry);
    const writer = new Writer(ward, zone, sorted, known?.settings.unitLimitMl ?? 500, leftOut);
    writer.absorb();
    for (const entry of sorted) writer.add(entry);
    const instants = writer.rows.map((row) => instantMs(String(row['recordedAt'])));
    return {
      ward,
      zone,
      about: {
        format: 'wardlog-1',
        ward,
        zone,
        ...(instants.length === 0
          ? {}
          : {
              begins: instantInZone(Math.min(...instants), zone),
              ends: instantInZone(Math.max(...instants), zone),
            }),
      },
      text: writer.rows.map((row) => `${JSON.stringify(row)}\n`).join(''),
      lines: writer.rows.length,
    };
  });
  return { logs, leftOut };
}
