-- Standing-vacuum tests: verdict, first and last reading in microns, minutes between them, rise.
with test as (
    select folder, unit, seq, moment, data.verdict as verdict, data.figures as figures
    from entry where kind = 'verdict-given' and data.about = 'decay'
      and ($since is null or moment >= $since) and ($until is null or moment < $until)
),
figure as (
    select folder, seq, split_part(f.name, '/', 2) as place, split_part(f.name, '/', 3) as what,
           f.number from (select folder, seq, unnest(figures) as f from test)
    where f.name like 'readings/%/minutes' or f.name like 'readings/%/pressure_pa'
),
reading as (
    select folder, seq, place, max(number) filter (what = 'minutes') as minutes,
           max(number) filter (what = 'pressure_pa') / 0.13332236842105263 as microns
    from figure group by folder, seq, place
),
curve as (
    select folder, seq, arg_min(microns, minutes) as first_microns,
           arg_max(microns, minutes) as last_microns, max(minutes) - min(minutes) as minutes
    from reading group by folder, seq
)
select test.folder as job, test.unit, moment, verdict, round(first_microns, 1) as first_microns,
       round(last_microns, 1) as last_microns, round(minutes, 2) as minutes,
       round(last_microns - first_microns, 1) as rise_microns,
       round((last_microns - first_microns) / nullif(minutes, 0), 2) as microns_a_minute
from test left join curve using (folder, seq) order by moment, job, test.seq;
