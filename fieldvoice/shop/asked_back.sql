-- Spoken readings that were asked back, by how loud the background was (dB below full scale of the
-- microphone, in steps of ten).
with spoken as (
    select folder, data.outcome as outcome, data.confidence as sureness, data.clipped as clipped,
           data.speech_db as speech_db, data.noise_db as noise_db,
           cast(floor(data.noise_db / 10) * 10 as integer) as band
    from entry where kind = 'line-heard' and data.source in ('voice', 'recording')
      and (data.intent = 'reading' or len(list_filter(
          data.meant, lambda m: m.name like '%/intent' and m."text" = 'reading')) > 0)
      and ($since is null or moment >= $since) and ($until is null or moment < $until)
)
select case when band is null then 'not measured' else band || ' to ' || (band + 10) || ' dB' end
       as background, count(*) as readings,
       count(*) filter (outcome = 'asked-back') as asked_back,
       round(100.0 * count(*) filter (outcome = 'asked-back') / count(*), 1) as percent_asked_back,
       round(median(sureness), 3) as median_sureness,
       round(median(speech_db - noise_db), 1) as median_above_background_db,
       count(*) filter (clipped) as too_loud
from spoken group by band order by band nulls last;
