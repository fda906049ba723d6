using System.Globalization;

namespace HilRunner.Transport.Ports;

/// <summary>Which processes have a device node open, as far as this user may see them.</summary>
internal static class PortHolders
{
    /// <summary>"pid 4711 (name)", at most three of them; empty when none can be seen.</summary>
    public static string Describe(string path)
    {
        string target = new FileInfo(path).ResolveLinkTarget(returnFinalTarget: true)?.FullName ?? path;
        var holders = new List<string>();
        foreach (string process in Directory.EnumerateDirectories("/proc"))
        {
            if (!int.TryParse(Path.GetFileName(process), NumberStyles.None, CultureInfo.InvariantCulture, out int pid)) { continue; }
            if (!Holds(process, target)) { continue; }
            holders.Add(pid == Environment.ProcessId ? "this program itself" : $"pid {pid} ({NameOf(process)})");
            if (holders.Count == 3) { break; }
        }
        return string.Join(", ", holders);
    }

    private static bool Holds(string process, string target)
    {
        try
        {
            return Directory.EnumerateFiles(Path.Combine(process, "fd")).Any(fd => new FileInfo(fd).LinkTarget == target);
        }
        // Processes of other users, and processes that end meanwhile.
        catch (Exception e) when (e is IOException or UnauthorizedAccessException) { return false; }
    }

    private static string NameOf(string process)
    {
        try { return File.ReadAllText(Path.Combine(process, "comm")).Trim(); }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException) { return "?"; }
    }
}
