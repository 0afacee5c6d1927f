-- The jobs: where, by whom, with what, when, how each stands (of several units which are open)
-- and what was found. Only a job whose units are all finished has ended.
with fact as (
    select folder, seq, f.name as fact, f."text" as "value"
    from (select folder, seq, unnest(data.site) as f from entry where kind = 'job-started')
    union all
    select folder, seq, data.fact, data."value" from entry
    where kind in ('fact-told', 'header-amended')
),
known as (
    select folder, arg_max("value", seq) filter (fact = 'place') as place,
           arg_max("value", seq) filter (fact = 'technician') as technician
    from fact group by folder
),
unit as (
    select folder, unit, min(seq) as begun, arg_max(
        case kind when 'job-finished' then coalesce(data.ending, 'finished') end, seq) filter (
        kind in ('job-finished', 'job-reopened')) as ending,
        coalesce(arg_max(kind, seq) filter (kind in ('job-finished', 'job-reopened')), '')
        = 'job-finished' as finished
    from entry where kind in ('step-opened', 'job-finished', 'job-reopened') group by folder, unit
),
standing as (
    select folder, bool_and(finished) as finished, case
        when bool_and(finished)
        then 'finished: ' || string_agg(distinct ending, ', ' order by ending)
        when count(*) = 1 then 'open'
        else 'open: ' || string_agg(coalesce(nullif(unit, ''), 'unit one'), '; ' order by begun)
             filter (not finished) end as standing
    from unit group by folder
),
verdict as (
    select folder, string_agg(data.about || ' ' || data.verdict, ', ' order by seq) as verdicts
    from entry where kind = 'verdict-given' and data.step is not null
      and data.about not in ('forecast', 'charge')  -- answers to a question, no judgement
    group by folder
)
select folder as job, place, technician, min(data.procedure) filter (kind = 'job-started')
       as procedure, min(moment) as began,
       case when any_value(finished) then max(moment) filter (is_work) end as ended,
       max(moment) filter (is_work) as last_worked_on,
       coalesce(any_value(standing), 'not begun') as standing, any_value(verdicts) as verdicts
from entry left join known using (folder) left join standing using (folder)
     left join verdict using (folder)
group by folder, place, technician
having ($since is null or min(moment) >= $since) and ($until is null or min(moment) < $until)
order by began, job;
