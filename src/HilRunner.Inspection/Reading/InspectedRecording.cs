using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;

namespace HilRunner.Inspection.Reading;

/// <summary>
/// A recording as it stands in its files, with all that a <see cref="Recording"/> may not have: gaps, doubled times, missing values,
/// labels that overlap. Only for looking at; what is to be played is read with <see cref="RecordingFile"/>.
/// </summary>
public sealed record InspectedRecording
{
    /// <summary>In <see cref="TimesNs"/>: the row has no readable time.</summary>
    public const long NoTime = long.MinValue;

    public required string Name { get; init; }
    /// <summary>The file it came from.</summary>
    public required string Path { get; init; }
    public required IReadOnlyList<string> ChannelNames { get; init; }
    /// <summary>[channel][sample], in g or °/s; NaN: no number there. At least one sample.</summary>
    public required IReadOnlyList<Series<double>> Channels { get; init; }
    /// <summary>The time column, less its first entry, in nanoseconds; null: the file has none.</summary>
    public Series<long>? TimesNs { get; init; }
    /// <summary>From the side file or the format. Null only where there are times.</summary>
    public SampleRate? StatedRate { get; init; }
    /// <summary>As they stand in the file, in its order; cut to nothing.</summary>
    public IReadOnlyList<InspectedLabel> Labels { get; init; } = [];
    public RecordingInfo Info { get; init; } = new();
    public LineFaults LineFaults { get; init; } = new();
    public int SampleCount => Channels.Count == 0 ? _sampleCount : Channels[0].Length;

    private int _sampleCount;

    /// <summary>
    /// The same without its numbers: what is kept of a recording that has been inspected, beside those that follow.
    /// </summary>
    public InspectedRecording WithoutSamples() => this with { Channels = [], TimesNs = null, _sampleCount = SampleCount };

    /// <summary>A recording that has been read strictly or was never a file. Its times are exact by construction, so none are given.</summary>
    public static InspectedRecording From(Recording recording, string path) => new()
    {
        Name = recording.Name,
        Path = path,
        ChannelNames = recording.ChannelNames,
        Channels = [.. recording.Channels.Select(c => new Series<double>(c))],
        StatedRate = recording.Rate,
        Labels = [.. recording.Labels.Select(l => new InspectedLabel(l.Start.Ns, l.End.Ns, l.Class, 0))],
        Info = recording.Info,
    };
}

/// <summary>A label as it stands in its file, on the recording's own time (0 = its first sample). Its end may lie before its start.</summary>
/// <param name="Line">1-based; 0: not known.</param>
public sealed record InspectedLabel(long StartNs, long EndNs, string Class, int Line);

/// <summary>Lines that a strict reader refuses, counted, with the first of each kind.</summary>
public sealed record LineFaults
{
    public long BlankLines { get; init; }
    public int FirstBlankLine { get; init; }
    /// <summary>Rows with too few or too many cells: their values count as missing.</summary>
    public long RaggedRows { get; init; }
    public int FirstRaggedRow { get; init; }
    /// <summary>Cells of channels that hold no finite number.</summary>
    public long BadValues { get; init; }
    public string FirstBadValue { get; init; } = "";
    public int FirstBadLine { get; init; }
    public long BadTimes { get; init; }
    public int FirstBadTime { get; init; }
    /// <summary>Lines of the label file that hold no label.</summary>
    public IReadOnlyList<Fault> Labels { get; init; } = [];
}
