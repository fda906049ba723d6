using System.Globalization;

namespace HilRunner.Cli.Runs;

/// <summary>Whether the disk that runs go to is full, and what they need.</summary>
internal static class DiskRoom
{
    /// <summary>Less than a run's smallest files take.</summary>
    private const long Full = 256 * 1024;

    public static bool IsFull(string folder) => new DriveInfo(folder).AvailableFreeSpace < Full;

    /// <param name="left">Runs that are still to be played.</param>
    public static string Sentence(string folder, int left)
    {
        long[] sizes = !Directory.Exists(folder) ? [] : [.. RunFolders.In(folder).Where(IsWhole).Select(Size)];
        string need = sizes.Length == 0 ? "none is finished, so what they need is not known"
            : string.Create(CultureInfo.InvariantCulture, $"a run takes {Megabytes((long)sizes.Average())}, so they need about {Megabytes((long)(sizes.Average() * Math.Max(left, 1)))}");
        return $"the disk of {folder} is full, with {left} runs to go ({need}); make room and run the same with --resume: what is finished stays";
    }

    private static bool IsWhole(string run) => File.Exists(Path.Combine(run, Core.Runs.RunFiles.Report));

    private static long Size(string run) => new DirectoryInfo(run).EnumerateFiles().Sum(f => f.Length);

    private static string Megabytes(long bytes) => (bytes / 1e6).ToString(bytes < 10_000_000 ? "0.0" : "0", CultureInfo.InvariantCulture) + " MB";
}
