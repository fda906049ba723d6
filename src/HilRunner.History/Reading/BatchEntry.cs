namespace HilRunner.History.Reading;

/// <summary>A batch as a history lists it.</summary>
public sealed record BatchEntry
{
    public required long Id { get; init; }
    public required string Name { get; init; }
    public required long StartedMs { get; init; }
    public long? EndedMs { get; init; }
    /// <summary>A word of the files; null: it was never concluded.</summary>
    public string? Verdict { get; init; }
    public required string Reason { get; init; }
    public required string Host { get; init; }
    public required string Folder { get; init; }
    /// <summary>Label of the build; "": none was given.</summary>
    public required string Label { get; init; }
    /// <summary>Of the image; "": not known.</summary>
    public required string Sha256 { get; init; }
    public required int Planned { get; init; }
    public required int Runs { get; init; }
    /// <summary>The definitions by which it came to its verdict: a schema of score.json.</summary>
    public required int Definitions { get; init; }
    /// <summary>Runs that count and of which it is known whether everything arrived.</summary>
    public required int DeliveryKnown { get; init; }
    /// <summary>Of these, those of which nothing shows it.</summary>
    public required int DeliveryNotShown { get; init; }

    public DateTimeOffset Started => DateTimeOffset.FromUnixTimeMilliseconds(StartedMs);
    public DateTimeOffset? Ended => EndedMs is { } ms ? DateTimeOffset.FromUnixTimeMilliseconds(ms) : null;
    /// <summary>As a person names it; null: nothing is known of it.</summary>
    public string? Build => Label.Length > 0 ? Label : Sha256.Length > 0 ? Sha256[..Math.Min(12, Sha256.Length)] : null;
}

/// <summary>A suite, scenario or plan of which there are batches.</summary>
public sealed record SuiteEntry
{
    public required string Name { get; init; }
    public required long Batches { get; init; }
    public required long NewestMs { get; init; }
}

/// <summary>How long a run took, from the opening of the link to its end.</summary>
public sealed record RunDuration
{
    public required string Scenario { get; init; }
    public required string Rig { get; init; }
    public required string Speed { get; init; }
    public required long TookMs { get; init; }
}

/// <summary>A figure of a batch; see <see cref="Recording.BatchFigure"/>.</summary>
public sealed record FigureEntry
{
    public required long BatchId { get; init; }
    public required string Output { get; init; }
    public required string Class { get; init; }
    public required string Measure { get; init; }
    public required string Statistic { get; init; }
    public double? Value { get; init; }
    public required int Trials { get; init; }
}

/// <summary>A trial that came out both ways on one image.</summary>
public sealed record FlippedEntry
{
    public required string Scenario { get; init; }
    /// <summary>Digest of what was played.</summary>
    public required string Motion { get; init; }
    public required string Output { get; init; }
    public required string Class { get; init; }
    public required long StartNs { get; init; }
    public required string Label { get; init; }
    public required string Sha256 { get; init; }
    public required long Plays { get; init; }
    public required long Recognised { get; init; }
}
