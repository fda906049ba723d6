namespace HilRunner.Scoring.Pooling;

/// <summary>
/// What counts as one independent trial: all plays of all stretches of one source (a person, a machine, a parcel) where side files name it, else all plays of one
/// labelled stretch. Repeats, variations and transforms of a stretch are plays of it, and stretches of one recording that overlap are one: what they say hangs together.
/// </summary>
/// <param name="Source">Null: the side file names none, so this is one stretch.</param>
public sealed record TrialUnit(string? Source, IReadOnlyList<PlayedTrial> Plays)
{
    /// <summary>In the order of their first play.</summary>
    public static IReadOnlyList<TrialUnit> Of(IEnumerable<PlayedTrial> trials)
    {
        PlayedTrial[] all = [.. trials];
        var stretches = Stretches(all);
        return
        [
            .. all.GroupBy(t => t.Motion.SourceKey is { } source ? (Source: source, Stretch: -1) : (Source: null,
                Stretch: stretches[t]))
                .Select(g => new TrialUnit(g.First().Motion.Source, [.. g])),
        ];
    }

    /// <summary>Each trial's stretch: those of one recording that overlap, directly or through others, have one number.</summary>
    private static Dictionary<PlayedTrial, int> Stretches(PlayedTrial[] trials)
    {
        var numbers = new Dictionary<PlayedTrial, int>(ReferenceEqualityComparer.Instance);
        int number = 0;
        foreach (var recording in trials.GroupBy(t => t.Motion.Recording, StringComparer.Ordinal))
        {
            long end = long.MinValue;
            foreach (var trial in recording.OrderBy(t => t.Motion.FromNs))
            {
                if (trial.Motion.FromNs >= end) { number++; }
                end = Math.Max(end, trial.Motion.ToNs);
                numbers[trial] = number;
            }
        }
        return numbers;
    }
}
