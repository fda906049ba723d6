using System.Diagnostics;
using System.Runtime.Versioning;
using HilRunner.Core.Files;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Two users of one machine, and one rig between them.</summary>
[Parallelizable, Platform(Include = "Linux"), UnsupportedOSPlatform("windows")]
public class SharedMachineTests
{
    /// <summary>Nobody's user.</summary>
    private const int Other = 65534;

    private const UnixFileMode All = (UnixFileMode)0b111_111_111;

    /// <summary>
    /// Whoever comes first has it, and the other is told who that is; links that a third laid to where the locks are lead
    /// nowhere.
    /// </summary>
    [Test]
    public void TwoUsersOnOneRigAreKeptApart()
    {
        if (Environment.UserName != "root" || !File.Exists("/usr/bin/setpriv") || !Directory.Exists("/run/lock"))
        {
            TestPaths.Lacks("needs root, setpriv and /run/lock, to act as two users");
        }
        using var folder = TestPaths.NewFolder();
        File.SetUnixFileMode(folder.Path, All);
        string hil = Readable(folder);
        File.WriteAllText(folder.File("kept"), "kept");
        File.WriteAllText(
            folder.File("night.yaml"), "scenario: night\nstimulus:\n  - synth: {rest: 60 s, class: resting}\nlead: 1 s\n");
        File.Copy(Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml"), folder.File("model.yaml"));
        File.WriteAllText(folder.File("rig.yaml"), File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace("../scenarios/parcel/model.yaml", folder.File("model.yaml"), StringComparison.Ordinal));
        using var device = Hil.Start("device", "--rig", folder.File("rig.yaml"), "--tcp", "0");
        string link = device.StandardOutput.ReadLine()!;
        string[] laid =
            [.. ((string[])["kept", "made"]).Select(
                to => $"/run/lock/hil-rig-{FileHash.Sha256OfText(link["tcp://".Length..])[..16]}-{to}.lock")];
        try
        {
            foreach (string path in laid)
            {
                Do(Other, "ln", "-s", folder.File(path.Contains("kept", StringComparison.Ordinal) ? "kept" : "made"), path);
            }
            foreach (var (first, second) in ((int, int)[])[(Other, 0), (0, Other)])
            {
                using var under = Start(first, hil, folder, link, $"a{first}");
                Hil.Await(() => Directory.Exists(folder.File($"a{first}"))
                    && Directory.GetFiles(folder.File($"a{first}"), "link.pcapng", SearchOption.AllDirectories).Length > 0,
                    "a run under way");
                using var refused = Start(second, hil, folder, link, $"b{second}");
                string said = refused.StandardError.ReadToEnd();
                refused.WaitForExit();
                Assert.That(refused.ExitCode, Is.EqualTo(3), said);
                Assert.That(
                    said, Does.Match(
                        $@"^hil: rig virtual \(.*\) is in use by another call of hil, process {under.Id} of user {first} since \d\d:\d\d:\d\d \(/run/lock/hil-rig-.*\.lock\); wait for it to end, or end it"));
                Assert.That(Directory.Exists(folder.File($"b{second}")), Is.False);
                under.Kill();
                under.WaitForExit();
            }
            Assert.That(File.ReadAllText(folder.File("kept")), Is.EqualTo("kept"));
            Assert.That(File.GetUnixFileMode(folder.File("kept")) & UnixFileMode.OtherWrite, Is.EqualTo(UnixFileMode.None));
            Assert.That(File.Exists(folder.File("made")), Is.False);
        }
        finally
        {
            device.Kill();
            device.WaitForExit();
            foreach (string path in Directory.GetFiles("/run/lock", Path.GetFileName(laid[0]).Split("kept")[0] + "*"))
            {
                File.Delete(path);
            }
        }
    }

    /// <summary>A table that is not there is played by a folder of another user's: nothing is made or removed in it.</summary>
    [Test]
    public void AFolderOfAnotherUsersIsNotTaken()
    {
        using var folder = TestPaths.NewFolder();
        string own = Directory.CreateDirectory(folder.File("own")).FullName;
        File.WriteAllText(Path.Combine(own, "device"), "mine");
        Directory.CreateSymbolicLink(folder.File("at"), own);
        var result = Hil.Run("shaker", "--at", folder.File("at"));
        Assert.That(result.Code, Is.EqualTo(3), result.Errors);
        Assert.That(
            result.Errors, Does.Contain($"hil: {folder.File("at")} is no folder; expected one that is this user's alone"));
        Assert.That(File.ReadAllText(Path.Combine(own, "device")), Is.EqualTo("mine"));
    }

    /// <summary>The program where the other user may read it.</summary>
    private static string Readable(TemporaryFolder folder)
    {
        using var tried =
            Process.Start("setpriv", [$"--reuid={Other}", $"--regid={Other}", "--clear-groups", "test", "-x", Hil.Executable]);
        tried.WaitForExit();
        if (tried.ExitCode == 0) { return Hil.Executable; }
        Do(0, "cp", "-r", AppContext.BaseDirectory, folder.File("bin"));
        Do(0, "chmod", "-R", "a+rX", folder.File("bin"));
        return folder.File("bin/hil");
    }

    private static Process Start(int user, string hil, TemporaryFolder folder, string link, string output)
    {
        string[] arguments = ["run", folder.File("night.yaml"), "--rig",
            folder.File("rig.yaml"), "--link", link, "--out", folder.File(output), "--speed", "real"];
        string[] asUser = user == 0 ? [] : [$"--reuid={user}", $"--regid={user}", "--clear-groups", hil];
        var start = new ProcessStartInfo(user == 0 ? hil : "setpriv", [.. asUser, .. arguments]) { WorkingDirectory = folder.Path,
            RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true };
        start.Environment["HOME"] = folder.Path;
        return Process.Start(start)!;
    }

    private static void Do(int user, params string[] words)
    {
        using var process = Process.Start("setpriv", [$"--reuid={user}", "--clear-groups", .. words]);
        process.WaitForExit();
        Assert.That(process.ExitCode, Is.Zero, string.Join(' ', words));
    }
}
