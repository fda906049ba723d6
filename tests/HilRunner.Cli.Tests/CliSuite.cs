using System.Diagnostics;
using System.Globalization;

namespace HilRunner.Cli.Tests;

/// <summary>
/// After all: no executable of these tests may be left running, whatever failed. One that is would hold ports, files and locks.
/// </summary>
[SetUpFixture]
public sealed class CliSuite
{
    [OneTimeTearDown]
    public void Nothing_is_left()
    {
        if (!OperatingSystem.IsLinux()) { return; }
        List<string> left = [];
        foreach (string folder in Directory.GetDirectories("/proc")
            .Where(d => int.TryParse(Path.GetFileName(d), CultureInfo.InvariantCulture, out _)))
        {
            try
            {
                if (File.ResolveLinkTarget(Path.Combine(folder, "exe"), false)?.FullName != Hil.Executable) { continue; }
                string words = File.ReadAllText(Path.Combine(folder, "cmdline")).Replace('\0', ' ');
                // The player of a run that was killed ends by itself.
                using var process = Process.GetProcessById(int.Parse(Path.GetFileName(folder), CultureInfo.InvariantCulture));
                if (process.WaitForExit(TimeSpan.FromSeconds(5))) { continue; }
                process.Kill();
                left.Add(words);
            }
            catch (Exception gone)
                when (gone is IOException or UnauthorizedAccessException or ArgumentException or InvalidOperationException)
            {
                // It ended while it was looked at.
            }
        }
        Assert.That(left, Is.Empty, "left running, and ended now");
    }
}
