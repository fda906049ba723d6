namespace HilRunner.Core.Recordings.Import;

/// <summary>Where an import puts its recordings.</summary>
/// <param name="Folder">Is made when it is not there.</param>
/// <param name="Name">Of the recordings; null: the log's. Where there are several: NAME-01 and so on.</param>
/// <param name="Parquet">True: one NAME.parquet each; false: NAME.csv and its companions.</param>
public sealed record ImportDestination(string Folder, string? Name = null, bool Parquet = false);

/// <summary>A column of the log and what it is taken for.</summary>
/// <param name="Name">In the log: its header, else its number.</param>
/// <param name="Role">ax … gz, t, label, or another name.</param>
/// <param name="Unit">Null: it has none.</param>
/// <param name="Column">Of the recording; null: it is no column there.</param>
/// <param name="Stored">In Parquet: decimal or double, and whether the digits come back as they were; null: as text.</param>
public sealed record ImportedColumn(string Name, string Role, string? Unit, string? Column, string? Stored);

/// <summary>What an import understood, before anything is written.</summary>
public sealed record ImportSurvey
{
    internal ImportSurvey(ImportPlan plan) => Plan = plan;

    public required string Path { get; init; }
    /// <summary>The map with what was found: saved, it reads such a file again without guessing.</summary>
    public required ImportMap Map { get; init; }
    public required ImportDestination Destination { get; init; }
    public required IReadOnlyList<ImportedColumn> Columns { get; init; }
    public required IReadOnlyList<PlannedRecording> Recordings { get; init; }
    public required ImportRowCounts Rows { get; init; }
    /// <summary>Rows that could not be read, the first so many, where the map parts the recording there.</summary>
    public required IReadOnlyList<Fault> BadRows { get; init; }
    /// <summary>The first rows: stamp, then the channels in the units of the recording, to five digits.</summary>
    public required IReadOnlyList<string> FirstRows { get; init; }
    /// <summary>What was guessed, cut or left out: sentences.</summary>
    public required IReadOnlyList<string> Doubts { get; init; }
    /// <summary>All files that <see cref="RecordingImport.Write"/> makes.</summary>
    public required IReadOnlyList<string> Files { get; init; }

    internal ImportPlan Plan { get; }
}
