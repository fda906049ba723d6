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
        int[] stretches = Stretches.Numbers([.. all.Select(t => t.Motion)]);
        return
        [
            .. all.Zip(stretches).GroupBy(t => t.First.Motion.SourceKey is { } source ? (Source: source, Stretch: -1)
                : (Source: null, Stretch: t.Second))
                .Select(g => new TrialUnit(g.First().First.Motion.Source, [.. g.Select(t => t.First)])),
        ];
    }
}
