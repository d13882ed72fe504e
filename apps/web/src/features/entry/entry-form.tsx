/**
 * One form at the bedside: head, what is known, the number, the questions, what it would mean, Save. The same for
 * thumb and keyboard: digits type, Enter saves, Escape leaves and keeps the draft.
 */
import { useEffect, useEffectEvent, useRef, useState, type ReactNode } from 'react';
import { isRefusal, minuteMs } from '@ebbline/core/quantity';
import {
  ageWords,
  clockOrDay,
  duration,
  fieldsInOrder,
  formWords,
  readingMeaning,
  type Field,
  type FormSpec,
} from '@ebbline/core/present';
import { mayWrite } from '@ebbline/core/record';
import { Key } from '../../shared/key.tsx';
import { RefusalNotice } from '../../shared/plate.tsx';
import { useDirectory, useFacts, useMe, useNow, useThisWard } from '../../shell/hooks.ts';
import { doubtsOf, isAtLeast, keepRepeat, pressKey, write, without } from './draft.ts';
import { FormField } from './fields.tsx';
import { numberTyped, padKeyOf, type PadKey } from './keypad.ts';
import { MomentBox } from './moment-box.tsx';
import { Pad, SaveFoot, type SideKey } from './pad.tsx';
import { QuestionBox } from './question-box.tsx';
import { Recent } from './recent.tsx';
import { isMirrored, setMirrored } from './remembered.ts';
import { Ruler } from './ruler.tsx';
import { saveRest } from './say.ts';
import { isAsked, lastVoidBefore } from './to-entries.ts';
import { useEntry, type Correcting } from './use-entry.ts';
import styles from './entry-form.module.css';

interface EntryFormProps {
  readonly spec: FormSpec;
  readonly patient: string;
  readonly correcting?: Correcting;
}

const laterOffersMin = [5, 10, 15, 30, 60];

export function EntryForm({ spec, patient, correcting }: EntryFormProps): ReactNode {
  const facts = useFacts(patient);
  const ward = useThisWard();
  const directory = useDirectory();
  const me = useMe();
  const now = useNow();
  const { zone } = ward;
  const { draft, change, refusal, setRefusal, question, setQuestion, busy, save, leave } = useEntry(
    spec,
    patient,
    zone,
    correcting,
  );
  const [active, setActive] = useState(spec.pad);
  const [changingTime, setChangingTime] = useState(false);
  const [more, setMore] = useState(false);
  const [mirrored, setHand] = useState(() => isMirrored(me.id));
  const form = useRef<HTMLElement>(null);

  useEffect(() => {
    const element = form.current;
    element?.focus({ preventScroll: true });
    // On a small screen the form takes the whole of it; the head is one swipe away.
    if (innerHeight - (element?.offsetTop ?? 0) < 1000)
      requestAnimationFrame(() => element?.scrollIntoView());
  }, []);
  const press = (key: PadKey): void => {
    if (active === undefined) return;
    change(pressKey(without(draft, 'notObtained'), active, key));
  };

  // A keyboard reaches every key of the form by itself; this only lets digits, Enter and Escape work wherever the focus is.
  const onKeyDown = useEffectEvent((event: KeyboardEvent): void => {
    const target = event.target as HTMLElement;
    const writing = target instanceof HTMLInputElement || target instanceof HTMLSelectElement;
    if (event.key === 'Escape') {
      event.preventDefault();
      if (question) setQuestion(undefined);
      else if (changingTime) setChangingTime(false);
      else leave();
      return;
    }
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === 'Enter') {
      const onKey =
        target instanceof HTMLButtonElement ||
        target instanceof HTMLSelectElement ||
        target instanceof HTMLAnchorElement;
      if (onKey && target.getAttribute('aria-pressed') !== 'true') return;
      event.preventDefault();
      void save(false);
      return;
    }
    if (writing) return;
    const key = padKeyOf(event.key);
    if (key === undefined || active === undefined) return;
    event.preventDefault();
    press(key);
  });
  useEffect(() => {
    const element = form.current;
    element?.addEventListener('keydown', onKeyDown);
    return () => element?.removeEventListener('keydown', onKeyDown);
  }, []);
  useEffect(() => {
    if (question) form.current?.querySelector<HTMLElement>('[data-change]')?.focus();
  }, [question]);

  const blocked = correcting ? undefined : spec.notNow?.(facts);
  const kinds = mayWrite(me.role, spec.kind);
  const isReading = spec.id === 'reading';
  const notObtained = draft.values['notObtained'] === 'yes';
  const atLeast = isReading && isAtLeast(draft);
  const shown = active === undefined ? '' : (draft.values[active] ?? '');
  const padField = spec.fields.find(
    (field): field is Extract<Field, { type: 'number' }> => field.type === 'number' && field.name === active,
  );
  const unit = spec.id === 'void' && draft.values['how'] === 'pad-weighed' ? 'g' : (padField?.unit ?? 'mL');
  const readValue = numberTyped(shown, 'Volume', unit);
  const volumeMl = typeof readValue === 'number' && readValue >= 0 ? readValue : undefined;
  const lastVoid = lastVoidBefore(facts, draft.atMs ?? now);
  const meaning = isReading
    ? readingMeaning(
        {
          result: notObtained ? 'not-obtained' : atLeast ? 'at-least' : 'exact',
          ...(volumeMl === undefined ? {} : { volumeMl }),
          ...(draft.values['relation'] === undefined
            ? {}
            : { relation: draft.values['relation'] as 'before-void' }),
          doubts: doubtsOf(draft),
          atMs: draft.atMs ?? now,
        },
        facts,
        zone,
      )
    : [];
  const fields = fieldsInOrder(spec).filter(
    (field) =>
      isAsked(field, draft) &&
      field.name !== spec.pad &&
      !(isReading && notObtained && field.name === 'doubts'),
  );
  const inFront = fields.filter((field) => !field.later);
  const later = fields.filter((field) => field.later);
  const chosenLater = later.some((field) => draft.values[field.name] !== undefined);
  const sideKeys: { readonly left?: SideKey; readonly right?: SideKey } = isReading
    ? {
        left: {
          words: formWords.readingKeyWords.atLeast,
          chosen: atLeast,
          act: () =>
            change(
              draft.values['atLeast'] === 'yes'
                ? without(draft, 'atLeast')
                : write(without(draft, 'notObtained'), 'atLeast', 'yes'),
            ),
        },
        right: {
          words: formWords.readingKeyWords.noneSeen,
          chosen: notObtained,
          act: () =>
            change(
              notObtained
                ? without(without(draft, 'notObtained'), 'reasonNotObtained')
                : write(
                    write(without(without(draft, 'volumeMl'), 'atLeast'), 'notObtained', 'yes'),
                    'reasonNotObtained',
                    'none-seen',
                  ),
            ),
        },
      }
    : {};
  const scanners = directory.scanners.filter((one) => one.ward === ward.id);
  const withWards = (field: Field): Field =>
    field.name === 'ward' && field.type === 'choice'
      ? { ...field, options: directory.wards.map((one) => [one.id, one.name] as const) }
      : field;

  if (!kinds) return <p className="speak">Your role does not record this. Ask a nurse to record it.</p>;
  if (blocked !== undefined) {
    return (
      <div className={styles['blocked']}>
        <p className="speak">{blocked}</p>
        <Key onClick={leave}>Back to the patient</Key>
      </div>
    );
  }
  return (
    <section
      ref={form}
      className={styles['form']}
      tabIndex={-1}
      aria-label={`${spec.title}, bed ${facts.bed}, ${facts.initials}`}
      data-form={spec.id}
    >
      <header className={styles['head']}>
        <p className={styles['bed']}>{facts.bed}</p>
        <div className={styles['who']}>
          <p>
            <b>{facts.initials}</b> {ageWords(facts, zone)}
          </p>
          <h1 className={styles['title']}>{correcting ? `${spec.title}: put right` : spec.title}</h1>
        </div>
        <button
          type="button"
          className={styles['time']}
          aria-expanded={changingTime}
          onClick={() => setChangingTime(!changingTime)}
        >
          <b>{clockOrDay(draft.atMs ?? now, now, zone)}</b>
          <span>
            {draft.atMs === undefined
              ? 'now · change'
              : draft.timeQuality === 'rounded'
                ? 'about · change'
                : 'as charted · change'}
          </span>
        </button>
        <Key onClick={leave}>Back</Key>
      </header>
      {changingTime ? (
        <fieldset className={styles['times']} aria-label="When did it happen?">
          <Key
            chosen={draft.atMs === undefined}
            onClick={() => {
              const { atMs: _atMs, timeQuality: _quality, ...rest } = draft;
              change(rest);
              setChangingTime(false);
            }}
          >
            Now
          </Key>
          {laterOffersMin.map((minutes) => (
            <Key
              key={minutes}
              onClick={() => {
                change({ ...draft, atMs: Math.floor(now / minuteMs - minutes) * minuteMs });
                setChangingTime(false);
              }}
            >
              {minutes < 60 ? `${minutes} min ago` : '1 h ago'}
            </Key>
          ))}
          <MomentBox label="or at" zone={zone} nowMs={now} take={(atMs) => change({ ...draft, atMs })} />
          {draft.atMs === undefined ? null : (
            <Key
              chosen={draft.timeQuality === 'rounded'}
              onClick={() =>
                change(
                  draft.timeQuality === 'rounded'
                    ? (({ timeQuality: _quality, ...rest }) => rest)(draft)
                    : { ...draft, timeQuality: 'rounded' },
                )
              }
            >
              {formWords.aboutThatTime}
            </Key>
          )}
        </fieldset>
      ) : null}
      <div
        className={[styles['columns'], spec.pad === undefined && styles['single']].filter(Boolean).join(' ')}
      >
        <div className={styles['say']}>
          <Recent facts={facts} zone={zone} />
          {spec.pad === undefined ? null : (
            <div className={styles['number']}>
              <output
                className={styles['figure']}
                aria-live="polite"
                aria-label={padField?.label ?? 'Number'}
              >
                {atLeast ? <span className={styles['atLeast']}>at least </span> : null}
                <span className={shown === '' ? styles['nothing'] : styles['typed']}>
                  {notObtained ? 'no reading' : shown === '' ? '–' : shown}
                </span>
                {notObtained ? null : <span className={styles['unit']}> {unit}</span>}
              </output>
              {isReading && !notObtained ? (
                <div className={styles['repeats']}>
                  {draft.repeats.length > 0 ? (
                    <p className="label">
                      this look: {draft.repeats.join(', ')}{' '}
                      <Key look="plain" onClick={() => change({ ...draft, repeats: [] })}>
                        forget these
                      </Key>
                    </p>
                  ) : null}
                  <Key
                    disabled={shown === ''}
                    onClick={() => {
                      const next = keepRepeat(draft);
                      if (isRefusal(next)) setRefusal(next);
                      else change(next);
                    }}
                  >
                    {formWords.readingKeyWords.repeat}
                  </Key>
                </div>
              ) : null}
            </div>
          )}
          {spec.pad !== undefined && !['intake', 'bag-read', 'instilled'].includes(spec.id) ? (
            <Ruler
              facts={facts}
              volumeMl={unit === 'g' ? undefined : volumeMl}
              atLeast={atLeast}
              showExpected={isReading}
            />
          ) : null}
          {inFront.map((field) => (
            <FormField
              key={field.name}
              field={withWards(field)}
              draft={draft}
              change={change}
              nowMs={now}
              zone={zone}
              active={active}
              activate={setActive}
              fault={refusal?.where === field.name}
              pad={spec.pad !== undefined}
              all={more || chosenLater}
              {...(field.name === 'relation' && lastVoid
                ? {
                    under: {
                      'after-void': `${lastVoid.volumeMl === undefined ? 'unmeasured' : `${lastVoid.volumeMl} mL`}, ${duration(lastVoid.sinceMin)} before`,
                    },
                  }
                : {})}
            />
          ))}
          {more || chosenLater
            ? later.map((field) => (
                <FormField
                  key={field.name}
                  field={withWards(field)}
                  draft={draft}
                  change={change}
                  nowMs={now}
                  zone={zone}
                  active={active}
                  activate={setActive}
                  fault={refusal?.where === field.name}
                  pad={spec.pad !== undefined}
                />
              ))
            : null}
        </div>
        <div className={styles['do']}>
          {question ? (
            <QuestionBox
              question={question}
              facts={facts}
              zone={zone}
              change={() => setQuestion(undefined)}
              keep={() => void save(true)}
            />
          ) : refusal ? (
            <div className={styles['meaning']}>
              <RefusalNotice refusal={refusal} />
            </div>
          ) : isReading ? (
            <div className={`${styles['meaning'] ?? ''} speak`} aria-live="polite" data-meaning="">
              {meaning
                .slice(0, 2)
                .map((sentence, index) =>
                  index === 0 ? <b key={sentence}>{sentence} </b> : <span key={sentence}>{sentence}</span>,
                )}
            </div>
          ) : null}
          {spec.pad === undefined ? (
            <SaveFoot save={() => void save(false)} saveWords={spec.save} busy={busy} mirrored={mirrored} />
          ) : (
            <Pad
              press={press}
              save={() => void save(false)}
              saveWords={spec.save}
              saveRest={saveRest(spec, draft)}
              busy={busy}
              mirrored={mirrored}
              {...sideKeys}
            />
          )}
        </div>
      </div>
      <div className={styles['foot']}>
        {later.length > 0 && !chosenLater ? (
          <Key look="plain" className={styles['more']} aria-expanded={more} onClick={() => setMore(!more)}>
            {more ? 'Less to say' : isReading && !notObtained ? 'More doubts, position, note' : 'More to say'}
          </Key>
        ) : null}
        {isReading && scanners.length > 0 ? (
          <label className={styles['scanner']}>
            <span className="label">{formWords.scannerWord}</span>
            <select
              value={draft.values['scanner'] ?? ''}
              onChange={(event) => change(write(draft, 'scanner', event.target.value))}
            >
              <option value="">not said</option>
              {scanners.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
            </select>
          </label>
        ) : null}
        <span className="label">{me.initials}</span>
        <span className="label">Undo for 10 s after saving</span>
        <Key
          look="plain"
          onClick={() => {
            setMirrored(me.id, !mirrored);
            setHand(!mirrored);
          }}
        >
          {mirrored ? 'Put Save on the right' : 'Put Save on the left'}
        </Key>
      </div>
    </section>
  );
}
