-- Time at work in each stage that was left, by the names that all jobs share; each job (of several
-- units each unit) counts once, with all times that it was in the stage. Interruptions are no work.
with crossing as (
    select folder, unit, utc, kind, data.called as stage,
           lead(utc) over (partition by folder, unit order by seq) as until,
           lead(kind) over (partition by folder, unit order by seq) as next
    from entry where kind in ('stage-entered', 'stage-left')
),
pause as (
    select * from (
        select folder, kind, utc as until,
               lag(utc) over (partition by folder order by seq) as since from entry
        where is_work)
    where kind = 'job-resumed' and since is not null
),
span as (
    select folder, unit, stage, c.utc as since, c.until, epoch(c.until) - epoch(c.utc)
        - coalesce((select sum(epoch(p.until) - epoch(p.since)) from pause p
                    where p.folder = c.folder and p.since >= c.utc and p.until <= c.until), 0)
        as seconds
    from crossing c where kind = 'stage-entered' and next = 'stage-left'
      and ($since is null or utc >= $since) and ($until is null or utc < $until)
),
spent as (
    select folder, unit, stage, count(*) as times, sum(seconds) / 60 as minutes
    from span group by all
)
select stage, count(*) as jobs, cast(sum(times) as bigint) as times_entered,
       round(quantile_cont(minutes, 0.25), 1) as lower_quartile_minutes,
       round(median(minutes), 1) as median_minutes,
       round(quantile_cont(minutes, 0.75), 1) as upper_quartile_minutes,
       round(max(minutes), 1) as longest_minutes
from spent group by stage order by median_minutes desc, stage;
