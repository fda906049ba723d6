using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Import;

/// <summary>
/// How to make recordings of a foreign log: what its files look like, what its columns are, and what is done with gaps and
/// bad rows. What is null is found out from the file and said (<see cref="ImportSurvey.Doubts"/>). Each key, its unit and its
/// default stand in the README beside this file.
/// </summary>
public sealed record ImportMap
{
    public string Name { get; init; } = "import";
    public ImportReading Reading { get; init; } = new();
    /// <summary>Null: from the time column.</summary>
    public SampleRate? Rate { get; init; }
    /// <summary>Uneven stamps are interpolated to this rate; null: stamps must be even.</summary>
    public SampleRate? Resample { get; init; }
    /// <summary>A longer step between samples is a gap; null: a step that differs from the usual one by more than half of it.</summary>
    public long? GapNs { get; init; }
    /// <summary>True: each gap and backward jump starts a new recording; false: it is an error.</summary>
    public bool SplitAtGaps { get; init; }
    /// <summary>True: a row that cannot be read is reported and parts the recording; false: it is an error.</summary>
    public bool SplitAtBadRows { get; init; }
    /// <summary>Columns (roles or header names): each value of them is a recording of its own.</summary>
    public IReadOnlyList<string> SplitBy { get; init; } = [];
    /// <summary>Column → value that a row must have; other rows are left out and counted.</summary>
    public IReadOnlyDictionary<string, string> Where { get; init; } = new Dictionary<string, string>();
    /// <summary>Value in the label column → class; values that are not listed keep their text.</summary>
    public IReadOnlyDictionary<string, string> Names { get; init; } = new Dictionary<string, string>();
    /// <summary>A pattern of the file's name; its named groups stand for {name} in the paths, filters and texts of the map.</summary>
    public string? FileName { get; init; }
    public ImportLabels? Labels { get; init; }
    public ImportPartner? With { get; init; }
    /// <summary>What the side file shall say; the rate is found.</summary>
    public RecordingInfo Info { get; init; } = new();
}

public enum ImportFormat { Text, JsonLines, Parquet }

public enum TextCoding { Utf8, Utf16, Utf16BigEndian, Latin1 }

/// <summary>What one file looks like and what its columns are.</summary>
public sealed record ImportReading
{
    public ImportFormat? Format { get; init; }
    public TextCoding? Encoding { get; init; }
    /// <summary>"comma", "semicolon", "tab" or "space" (any run of blanks).</summary>
    public string? Separator { get; init; }
    public bool? Header { get; init; }
    /// <summary>Lines left out before anything else.</summary>
    public int? Skip { get; init; }
    /// <summary>Lines that start with this are left out; empty: none.</summary>
    public string? Comment { get; init; }
    public bool? DecimalComma { get; init; }
    /// <summary>What every line must end in beyond its last cell; empty: nothing.</summary>
    public string? LineEnd { get; init; }
    /// <summary>False: quotation marks are characters like any other.</summary>
    public bool? Quotes { get; init; }
    public IReadOnlyList<ImportColumn>? Columns { get; init; }
    /// <summary>True: <see cref="Columns"/> lists every column of the file in its order, so that another number of cells is a fault.</summary>
    public bool AllColumns { get; init; }
    public ImportUnit? Acceleration { get; init; }
    public ImportUnit? Gyro { get; init; }
    public ImportTime? Time { get; init; }
}

/// <summary>Where a quantity stands.</summary>
/// <param name="Role">ax … gz, t, label, or any other name, for filters and for splitting.</param>
/// <param name="Header">Name in the header (or JSON key, or Parquet column); null: <paramref name="Place"/> counts.</param>
/// <param name="Place">1-based.</param>
public sealed record ImportColumn(string Role, string? Header, int Place);

/// <summary>A unit, and how much of it one count is.</summary>
/// <param name="Unit">As in a quantity: g, mg, m/s2, dps, mdps, rad/s.</param>
public sealed record ImportUnit(string Unit, decimal PerCount = 1)
{
    public override string ToString() => PerCount == 1 ? Unit : FormattableString.Invariant($"{PerCount} {Unit}");
}

/// <summary>What a time column counts.</summary>
/// <param name="Unit">s, ms, us, ns (since any moment, also since 1970), iso (ISO 8601), or ticks.</param>
/// <param name="UnitNs">Nanoseconds in one unit; 0 for iso.</param>
/// <param name="Bits">Width of a tick counter that wraps; 0: it does not wrap.</param>
public sealed record ImportTime(string Unit, decimal UnitNs, int Bits = 0)
{
    public static readonly ImportTime Seconds = new("s", 1_000_000_000);

    /// <summary>The forms that have a name.</summary>
    public static IReadOnlyList<ImportTime> Named { get; } =
        [Seconds, new("ms", 1_000_000), new("us", 1000), new("ns", 1), new("iso", 0)];

    public override string ToString() => Unit != "ticks" ? Unit : Bits == 0
        ? FormattableString.Invariant($"ticks of {UnitNs / 1000m:0.#########} us")
        : FormattableString.Invariant($"{Bits}-bit ticks of {UnitNs / 1000m:0.#########} us");
}

/// <summary>Labels in a file of their own: intervals, or events that each last until the next.</summary>
/// <param name="Path">Relative to the file that is imported.</param>
/// <param name="Columns">class with first and last, start and end, or first or start alone; _ to skip; other names for where.</param>
public sealed record ImportLabels(string Path, IReadOnlyList<string> Columns)
{
    public string Separator { get; init; } = "comma";
    public bool Header { get; init; }
    public IReadOnlyDictionary<string, string> Where { get; init; } = new Dictionary<string, string>();
    /// <summary>Number of the first sample, 0 or 1.</summary>
    public int FirstIndex { get; init; } = 1;
    /// <summary>True: the sample numbered last belongs to the label.</summary>
    public bool LastInclusive { get; init; } = true;
    /// <summary>Unit of start and end, on the clock of the time column (from 0 where there is none).</summary>
    public ImportTime Time { get; init; } = ImportTime.Seconds;
    public IReadOnlyDictionary<string, string> Names { get; init; } = new Dictionary<string, string>();
}

public enum ImportJoin { Row, Time }

/// <summary>A second file of the same recording, with other channels.</summary>
/// <param name="Path">Relative to the file that is imported.</param>
public sealed record ImportPartner(string Path)
{
    public ImportReading Reading { get; init; } = new();
    /// <summary>Null: by time where both have a time column, else by row.</summary>
    public ImportJoin? Join { get; init; }
    /// <summary>True: a file that is not there is said and does without.</summary>
    public bool Optional { get; init; }
}
