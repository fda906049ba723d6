using System.Globalization;
using HilRunner.Application.Stored;

namespace HilRunner.Application.Runs;

/// <summary>The room on the disk that runs go to, and what they need.</summary>
/// <param name="Left">Runs that are still to be played.</param>
/// <param name="RunBytes">What one takes, from the newest that were played; null: none is finished.</param>
internal sealed record DiskRoom(string Folder, long FreeBytes, int Left, long? RunBytes)
{
    /// <summary>Less than a run's smallest files take.</summary>
    private const long Full = 256 * 1024;

    public long? NeededBytes => RunBytes * Math.Max(Left, 1);

    public bool IsEnough => NeededBytes is not { } needed || needed + Full < FreeBytes;

    public string Sentence => IsEnough
        ? $"Room on the disk of {Folder}: {Size(FreeBytes)}{(NeededBytes is { } needed ? $"; {Runs(Left)} need{(Left == 1 ? "s" : "")} about {Size(needed)}" : "")}."
        : $"The disk of {Folder} has {Size(FreeBytes)} left, and {Runs(Left)} need{(Left == 1 ? "s" : "")} about {Size(NeededBytes ?? 0)}: make room first.";

    public static bool IsFull(string folder) => Free(folder) < Full;

    /// <param name="output">The folder of the batches, or one that is yet to be made.</param>
    public static DiskRoom For(string output, int left)
    {
        string there = Path.GetFullPath(output);
        while (!Directory.Exists(there)) { there = Path.GetDirectoryName(there)!; }
        string? newest = !Directory.Exists(output) ? null
            : RunFolders.Batches(output).OrderDescending(StringComparer.Ordinal).FirstOrDefault(b => RunBytesIn(b) is not null);
        return new(output, Free(there), left, newest is null ? null : RunBytesIn(newest));
    }

    /// <summary>Of a disk that filled up on the way.</summary>
    /// <param name="batch">Its folder, or where it would have been.</param>
    public static string WhenFull(string batch, int left)
    {
        if (left == 0)
        {
            return $"the disk of {batch} is full: every run was played, but what comes of them was not all written; make room, then hil score {batch} gives the verdict and writes the report";
        }
        var room = new DiskRoom(batch, 0, left, Directory.Exists(batch) ? RunBytesIn(batch) : null);
        string need = room.RunBytes is { } run
            ? $"a run takes {Size(run)}, so {(left == 1 ? "it needs" : "they need")} about {Size(room.NeededBytes!.Value)}"
                : $"none is finished, so what {(left == 1 ? "it needs" : "they need")} is not known";
        return $"the disk of {batch} is full, with {Runs(left)} to go ({need}); make room and run the same with --resume: what is finished stays";
    }

    private static long Free(string folder) => new DriveInfo(folder).AvailableFreeSpace;

    private static long? RunBytesIn(string batch)
    {
        long[] sizes = [.. RunFolders.In(batch).Where(IsWhole).Select(run => new DirectoryInfo(run).EnumerateFiles().Sum(f => f.Length))];
        return sizes.Length == 0 ? null : (long)sizes.Average();
    }

    private static bool IsWhole(string run) => File.Exists(Path.Combine(run, Core.Runs.RunFiles.Report));

    private static string Runs(int count) => count == 1 ? "1 run" : $"{count} runs";

    private static string Size(long bytes) => bytes >= 10_000_000_000 ? string.Create(CultureInfo.InvariantCulture, $"{bytes / 1e9:0} GB")
        : (bytes / 1e6).ToString(bytes < 10_000_000 ? "0.0" : "0", CultureInfo.InvariantCulture) + " MB";
}
