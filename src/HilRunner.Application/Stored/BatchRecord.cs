using System.Text.Json;
using System.Text.Json.Serialization;
using HilRunner.Application.Batches;
using HilRunner.Application.Motions;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Scoring;

namespace HilRunner.Application.Stored;

/// <summary>batch.json: what a call of <c>hil run</c> set out to do and how it ended, so that its report can be made again from its folder.</summary>
/// <param name="Planned">Runs it was to play, those played again not counted.</param>
/// <param name="Ended">Null: it did not reach its end.</param>
/// <param name="Trouble">Why it ended early through a fault of the machine; null: it did not.</param>
internal sealed record BatchRecord(
    string Name, int Planned, DateTimeOffset Started, DateTimeOffset? Ended, string? Trouble, string Host, string ToolVersion, BuildIdentity Build)
{
    /// <summary>Limits over all runs of a suite; they stand in no run.</summary>
    public IReadOnlyList<SuiteLimits> Suites { get; init; } = [];

    /// <summary>Folder of the batch that this one is held against, relative to its own; null: none.</summary>
    public string? Baseline { get; init; }

    /// <summary>Digest of all that it is to play and with what (<see cref="RunKey.Digest"/>); null in batches of before.</summary>
    public string? Plan { get; init; }

    /// <summary>Which part of a batch it is, such as 2/5: limits over all trials are judged when the parts are merged. Null: all of it.</summary>
    public string? Shard { get; init; }

    /// <summary>Of a page that puts parts together: their folders, relative to its own. Empty: a batch, with runs of its own.</summary>
    public IReadOnlyList<string> Parts { get; init; } = [];

    /// <summary>When it was gone on with after it had been cut off.</summary>
    public IReadOnlyList<DateTimeOffset> Resumed { get; init; } = [];

    /// <summary>Why the rest was not played, as a plan that is tested trial by trial allows; null: all were, or it was broken off.</summary>
    public string? Enough { get; init; }

    /// <summary>Why it is held against none although one was asked for; null: it is, or none was.</summary>
    public string? NotCompared { get; init; }

    /// <summary>
    /// Folders of other batches that were played on the baseline's image before this one began; they count with it.
    /// </summary>
    public IReadOnlyList<string> BaselineMore { get; init; } = [];

    /// <summary>
    /// Recordings that hold the same motion, as they were found when it began; only looked for where limits are over all trials.
    /// </summary>
    public IReadOnlyList<SameMotion> SameMotions { get; init; } = [];

    /// <summary>What it came to; null: it was never concluded.</summary>
    public Verdict? Verdict { get; init; }

    /// <summary>The deciding one; null: never concluded.</summary>
    public string? Reason { get; init; }

    private const string FileName = "batch.json";
    private static readonly JsonSerializerOptions s_style = new(JsonSerializerDefaults.Web) { WriteIndented = true, RespectNullableAnnotations = true, RespectRequiredConstructorParameters = true, Converters = { new JsonStringEnumConverter(JsonNamingPolicy.SnakeCaseLower) } };

    public static bool IsIn(string folder) => File.Exists(Path.Combine(folder, FileName));

    /// <exception cref="BadInputException">The file cannot be read or used.</exception>
    public static BatchRecord Read(string folder)
    {
        string path = Path.Combine(folder, FileName);
        var record = StoredJson.Read<BatchRecord>(path, s_style, $"{FileName} as hil run wrote it");
        bool isPath = record.Parts.Concat(record.BaselineMore).Append(record.Baseline ?? "").All(p => !p.Contains('\0',
            StringComparison.Ordinal));
        if (!isPath)
        {
            throw new BadInputException([new(path, 0, 0, "a path with a NUL character", $"{FileName} as hil run wrote it")]);
        }
        if (record.Shard is { } shard && !Batches.Shard.IsOne(shard))
        {
            throw new BadInputException([new(path, 0, 0, $"shard {shard}", "a part and their number, such as 2/5")]);
        }
        if (record.Suites.Select(s => s.Fault).FirstOrDefault(f => f is not null) is { } fault)
        {
            throw new BadInputException([new(path, 0, 0, fault, $"{FileName} as hil run wrote it")]);
        }
        return record;
    }

    /// <summary>Whole or not at all: a kill leaves the file of before.</summary>
    public void Write(string folder) => AtomicFile.WriteText(Path.Combine(folder, FileName), output => output.Write(JsonSerializer.Serialize(this, s_style) + "\n"));
}
