using System.Diagnostics;
using System.Runtime.Versioning;
using HilRunner.Testing;
using HilRunner.Transport.Locks;

namespace HilRunner.Transport.Tests.Locks;

/// <summary>A folder as /run/lock is: all may write, each may remove only their own.</summary>
[UnsupportedOSPlatform("windows")]
internal sealed class SharedFolder : IDisposable
{
    /// <summary>Nobody's user.</summary>
    public const int Other = 65534;

    private const UnixFileMode All =
        UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute | UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.GroupExecute
        | UnixFileMode.OtherRead | UnixFileMode.OtherWrite | UnixFileMode.OtherExecute;

    private readonly TemporaryFolder _folder = TestPaths.NewFolder("locks");

    public SharedFolder()
    {
        File.SetUnixFileMode(_folder.Path, All);
        Path = _folder.File("shared");
        Directory.CreateDirectory(Path);
        File.SetUnixFileMode(Path, All | UnixFileMode.StickyBit);
        Locks = new(Path, true);
    }

    public string Path { get; }

    public LockFolder Locks { get; }

    /// <summary>Outside the folder.</summary>
    public string Beside(string name) => _folder.File(name);

    public string In(string name) => System.IO.Path.Combine(Path, name);

    /// <summary>Runs a line of shell as another user.</summary>
    public static Process AsOther(string line)
    {
        if (Environment.UserName != "root" || !File.Exists("/usr/bin/setpriv"))
        {
            TestPaths.Lacks("needs root and setpriv, to act as two users");
        }
        return Process.Start(
            new ProcessStartInfo(
                "setpriv", [$"--reuid={Other}", $"--regid={Other}", "--clear-groups",
                    "sh", "-c", line]) { RedirectStandardOutput = true, RedirectStandardInput = true })!;
    }

    public static void DoAsOther(string line)
    {
        using var process = AsOther(line);
        process.WaitForExit();
        Assert.That(process.ExitCode, Is.Zero, line);
    }

    public void Dispose() => _folder.Dispose();
}
