using System.Globalization;

namespace HilRunner.Cli;

/// <summary>How many files this process may have open.</summary>
internal static class OpenFiles
{
    /// <summary>What a run on one rig takes, with room: its runtime and libraries alone have some hundred open.</summary>
    private const long Least = 256;

    /// <summary>
    /// What to say where they are too few; null: they are enough, or it is not known (Linux: /proc/self/limits).
    /// </summary>
    public static string? Shortage()
    {
        const string name = "Max open files";
        try
        {
            string? line = File.ReadLines("/proc/self/limits").FirstOrDefault(l => l.StartsWith(name, StringComparison.Ordinal));
            string[] words = line?[name.Length..].Split(' ', StringSplitOptions.RemoveEmptyEntries) ?? [];
            return words.Length > 0 && long.TryParse(words[0], CultureInfo.InvariantCulture, out long most) && most < Least
                ? $"this process may open {most} files at most, and hil needs {Least}: say ulimit -n {Least} or more first, or raise the limit of the service that starts it"
                : null;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { return null; }
    }
}
