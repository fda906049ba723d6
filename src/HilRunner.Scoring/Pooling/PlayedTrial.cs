namespace HilRunner.Scoring.Pooling;

/// <summary>One trial of one run, with where its motion comes from.</summary>
/// <param name="Output">Of the device.</param>
/// <param name="Motion">What was played.</param>
/// <param name="Score">How it came out.</param>
/// <param name="WithinNs">The scenario's bound on reactions; null: none.</param>
public sealed record PlayedTrial(string Output, TrialMotion Motion, TrialScore Score, long? WithinNs)
{
    /// <summary>Whether report latencies can be known in its run.</summary>
    public bool ReportKnown { get; init; }
}

/// <summary>The motion of a trial: a labelled stretch of a recording, or a made signal.</summary>
/// <param name="Recording">The recording's hash; of a made signal something that no recording shares, such as its scenario's hash.</param>
/// <param name="FromNs">Start of the labelled stretch in the recording.</param>
/// <param name="ToNs">Its end.</param>
/// <param name="Source">Who or which machine was recorded, from the side file; null: not said.</param>
public sealed record TrialMotion(string Recording, long FromNs, long ToNs, string? Source);
