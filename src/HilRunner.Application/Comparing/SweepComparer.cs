using HilRunner.Reporting;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Application.Comparing;

/// <summary>Two sweep folders.</summary>
internal static class SweepComparer
{
    public static bool IsSweep(string folder) => File.Exists(Path.Combine(folder, SweepJson.File));

    /// <exception cref="UsageException">One is no sweep, or they are of different motions.</exception>
    public static SweepCompareResult Compare(string baseline, string candidate)
    {
        foreach (string folder in (string[])[baseline, candidate])
        {
            if (!IsSweep(folder)) { throw new UsageException($"{folder}: no sweep; a sweep is compared with a sweep"); }
        }
        Sweep before = SweepJson.Read(Path.Combine(baseline, SweepJson.File)), now = SweepJson.Read(Path.Combine(candidate, SweepJson.File));
        if (before.Motion != now.Motion || before.Along.Key != now.Along.Key || before.Across?.Key != now.Across?.Key || before.Output != now.Output)
        {
            throw new UsageException($"two sweeps of different motions: {before.Motion} ({before.Along.Title}), and {now.Motion} ({now.Along.Title})");
        }
        var notes = new List<string>();
        void Note(string what, object then, object since) { if (!Equals(then, since)) { notes.Add($"{what} was {then}, is {since}"); } }
        Note("the rig", before.Rig, now.Rig);
        Note("the dwell", $"{before.DwellS} s", $"{now.DwellS} s");
        Note("the range", SweepWords.Range(before), SweepWords.Range(now));
        foreach (var (sweep, which) in new[] { (before, "baseline"), (now, "candidate") })
        {
            if (sweep.Ended is null) { notes.Add($"the {which} is not finished: {sweep.Runs.Count} of {sweep.Loops} loops"); }
            int spoiled = sweep.Runs.Count(r => r.Spoiled is not null);
            if (spoiled > 0) { notes.Add($"the rig spoiled {spoiled} of {sweep.Loops} loops of the {which}"); }
        }
        return new(before, now, SweepComparison.Compare(before.Points, now.Points, now.Confidence), notes);
    }

    public static object Json(SweepCompareResult result, string page) => new
    {
        schema = 1,
        outcome = SweepWords.Answered(result),
        answer = result.Answer,
        baseline = result.Before.Build,
        candidate = result.Now.Build,
        unit = result.Now.Along.Unit,
        figures = result.Shifts.Select(s => new
        {
            across = s.Across, below = s.Below, above = s.Above, measure = System.Text.Json.JsonNamingPolicy.SnakeCaseLower.ConvertName(s.Measure.ToString()), before = s.Before?.Mean, now = s.Now?.Mean,
            shift = s.Change?.Shift, low = s.Change?.Interval.Low, high = s.Change?.Interval.High, p = s.Change?.P, moved = s.Shifted, why = s.Why,
        }),
        notes = result.Notes,
        page,
    };
}
