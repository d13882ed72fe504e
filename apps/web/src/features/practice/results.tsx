/**
 * The results so far: the person's own, kept on this tablet and by the ward's record; for an assessor those of the
 * people of their wards. Newest first.
 */
import { useEffect, useMemo, useState, type ReactNode } from 'react';
import { instantMs } from '@ebbline/core/quantity';
import { isPractice, mayWrite, type Entry } from '@ebbline/core/record';
import { Plate } from '../../shared/plate.tsx';
import { dayWords, timeWords } from '../../shell/day-words.ts';
import { useDirectory, useEntries, useMe, useReplica, useThisWard } from '../../shell/hooks.ts';
import { exerciseWords, levelWords, resultWords } from './words.ts';
import styles from './practice.module.css';

const mostShown = 60;

export function Results(): ReactNode {
  const me = useMe();
  const replica = useReplica();
  const ward = useThisWard();
  const people = useDirectory().people;
  const here = useEntries();
  const [fetched, setFetched] = useState<readonly Entry[] | 'away' | undefined>();
  useEffect(() => {
    let left = false;
    void replica.practice().then((entries) => {
      if (!left) setFetched(entries ?? 'away');
    });
    return () => {
      left = true;
    };
  }, [replica]);
  const results = useMemo(() => {
    const all = new Map<string, Extract<Entry, { kind: 'practised' }>>();
    // A tablet that several people use keeps what each of them did; one's own alone is shown from it.
    for (const entry of [
      ...here.filter((one) => one.author === me.id),
      ...(Array.isArray(fetched) ? fetched : []),
    ])
      if (isPractice(entry)) all.set(entry.id, entry);
    return [...all.values()]
      .toSorted((a, b) => instantMs(b.effectiveAt) - instantMs(a.effectiveAt))
      .slice(0, mostShown);
  }, [here, fetched, me.id]);
  const ofOthers = !mayWrite(me.role, 'practised');
  const nameOf = (id: string): string => people.find((one) => one.id === id)?.name ?? id;
  return (
    <Plate
      title={ofOthers ? 'Results of the people of your wards' : 'Your results'}
      note={ofOthers ? 'seen by them and by you' : 'seen by you and your assessor'}
    >
      {fetched === 'away' ? (
        <p className="quiet">
          Without the network: what was done on other tablets is missing here until it is back.
        </p>
      ) : null}
      {results.length === 0 ? (
        <p className="speak">
          {ofOthers ? 'Nobody has practised yet.' : 'None yet. Choose an exercise above.'}
        </p>
      ) : (
        <div className={styles['scrolls']}>
          <table>
            <thead>
              <tr>
                <th scope="col">When</th>
                {ofOthers ? <th scope="col">Who</th> : null}
                <th scope="col">Exercise</th>
                <th scope="col">Result</th>
              </tr>
            </thead>
            <tbody>
              {results.map(({ id, author, effectiveAt, payload }) => (
                <tr key={id} data-result={id}>
                  <td>
                    {dayWords(instantMs(effectiveAt), ward.zone)}{' '}
                    {timeWords(instantMs(effectiveAt), ward.zone)}
                  </td>
                  {ofOthers ? <td>{nameOf(author)}</td> : null}
                  <td>
                    {exerciseWords[payload.exercise]}, {levelWords[payload.level]}
                    {payload.start === 'from-the-program' ? ', from the program’s outlines' : ''} (
                    {payload.seed})
                  </td>
                  <td>{resultWords(payload)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </Plate>
  );
}
