using System.Globalization;
using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;

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
public sealed record TrialMotion(string Recording, long FromNs, long ToNs, string? Source)
{
    /// <summary>By which sources are told apart: names that differ by case or blanks alone are one.</summary>
    public string? SourceKey => Source is null ? null
        : string.Join(' ', Source.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)).ToUpperInvariant();

    /// <param name="reference">Of the run, as it was played.</param>
    public static TrialMotion Of(RunManifest manifest, IReadOnlyList<ReferenceInterval> reference, TrialScore trial)
    {
        ArgumentNullException.ThrowIfNull(manifest);
        return Of(manifest.Sources, reference, Made(manifest), trial);
    }

    /// <summary>
    /// What stands for the motion of a run that comes from no recording. Moved by hand, each time is another motion; made, or of
    /// an unknown place, each time the same.
    /// </summary>
    public static string Made(RunManifest manifest)
    {
        ArgumentNullException.ThrowIfNull(manifest);
        return manifest.ByHand ? manifest.Id + manifest.Started.ToString("O", CultureInfo.InvariantCulture)
            : manifest.Scenario.Sha256;
    }

    /// <param name="sources">Recordings, in the order in which segments of the reference name them.</param>
    /// <param name="made">What stands for the motion where it comes from no recording.</param>
    public static TrialMotion Of(
        IReadOnlyList<StimulusSource> sources, IReadOnlyList<ReferenceInterval> reference, string made, TrialScore trial)
    {
        ArgumentNullException.ThrowIfNull(sources);
        ArgumentNullException.ThrowIfNull(trial);
        // A trial may begin later than its interval: where the time after an event is unscored.
        var interval = reference.FirstOrDefault(i => i.Class == trial.Class && i.Start.Ns <= trial.StartNs
            && trial.StartNs < i.End.Ns);
        if (interval?.Segment is { } segment && segment.Recording <= sources.Count)
        {
            var source = sources[segment.Recording - 1];
            return new(source.Sha256, segment.From.Ns, segment.To.Ns, source.Info.Source);
        }
        return new(made, interval?.Start.Ns ?? trial.StartNs, interval?.End.Ns ?? trial.EndNs, null);
    }
}
