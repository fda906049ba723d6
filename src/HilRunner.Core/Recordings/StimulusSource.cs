namespace HilRunner.Core.Recordings;

/// <summary>
/// A recording that was played: its path as the scenario names it, the hash of its data file, and its side file.
/// </summary>
public sealed record StimulusSource(string Path, string Sha256, RecordingInfo Info);
