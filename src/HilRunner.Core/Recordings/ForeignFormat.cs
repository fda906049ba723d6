using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>How to read a file that is not in the native form.</summary>
public sealed record ForeignFormat
{
    /// <summary>"space" (any run of blanks), "tab", "comma", "semicolon".</summary>
    public string Separator { get; init; } = "comma";
    public bool Header { get; init; }
    /// <summary>One entry per column of the file: ax ay az gx gy gz, "t", or "_" to skip.</summary>
    public required IReadOnlyList<string> Columns { get; init; }
    /// <summary>"g", "mg", "m/s2"</summary>
    public string Acceleration { get; init; } = "g";
    /// <summary>"dps" or "rad/s"</summary>
    public string Gyro { get; init; } = "dps";
    public SampleRate? Rate { get; init; }
    /// <summary>Who or which machine was recorded; null: as the side file says, if there is one.</summary>
    public string? Source { get; init; }
    public ForeignLabels? Labels { get; init; }
}

/// <summary>Labels of a foreign file: rows of an interval file that match the given columns.</summary>
/// <param name="Path">Interval file.</param>
/// <param name="Separator">As in <see cref="ForeignFormat.Separator"/>.</param>
/// <param name="Columns">One entry per column: class, first, last (samples) or start_s, end_s, "_", or any name used in
/// Where.</param>
public sealed record ForeignLabels(string Path, string Separator, IReadOnlyList<string> Columns)
{
    /// <summary>Column name → value that a row must have to belong to this recording.</summary>
    public IReadOnlyDictionary<string, string> Where { get; init; } = new Dictionary<string, string>();
    /// <summary>Number of the first sample: 0 or 1. The last sample is inclusive.</summary>
    public int FirstIndex { get; init; } = 1;
    /// <summary>Code in the class column → label name.</summary>
    public IReadOnlyDictionary<string, string> Names { get; init; } = new Dictionary<string, string>();
}
