-- What was heard for readings that were corrected or taken back afterwards, the most often first.
with taken as (
    select folder, seq, data.quantity as quantity, data.line as line,
           data."value" || ' ' || data.unit as was, moment
    from line where kind = 'reading-taken' and folder in (select folder from entry)
      and ($since is null or moment >= $since) and ($until is null or moment < $until)
),
corrected as (
    select folder, data.corrects as seq, arg_max(data."value" || ' ' || data.unit, seq) as now
    from entry where kind = 'reading-corrected' group by folder, data.corrects
),
wrong as (
    select taken.*, coalesce(now, 'taken back') as now from taken
    left join corrected using (folder, seq) left join gone using (folder, seq)
    where corrected.seq is not null or gone.seq is not null
)
select heard.data.words as heard, quantity, was as taken_as, now as corrected_to,
       count(*) as times, count(distinct wrong.folder) as jobs
from wrong join entry heard on heard.folder = wrong.folder and heard.seq = wrong.line
     and heard.kind = 'line-heard'
group by all order by times desc, heard, taken_as, corrected_to;
