using System.Diagnostics;
using System.Globalization;
using NUnit.Framework.Interfaces;

namespace HilRunner.Testing;

/// <summary>
/// Holds back what is about to start while more tasks want a processor than can soon have one. Most tests of the calm lane wait
/// for something, so many run side by side; but when their programs start up at the same time, each takes twenty times as long as
/// alone, and limits of the tool that are right for a bench run out. Nothing is lost by it: the processors are busy all the
/// while.
/// </summary>
internal static class Room
{
    private const int TasksPerProcessor = 3;

    /// <summary>A machine that others keep busy is never quiet: go on after this.</summary>
    private static readonly TimeSpan s_patience = TimeSpan.FromMinutes(1);

    /// <summary>Until what was let in shows among the tasks.</summary>
    private static readonly TimeSpan s_settle = TimeSpan.FromMilliseconds(100), s_look = TimeSpan.FromMilliseconds(25);

    /// <summary>Held by whoever is next, in whichever process: one is let in at a time.</summary>
    private static readonly string s_door = Path.Combine(Path.GetTempPath(), $"hil-tests-door-{Environment.UserName}");

    public static void Await()
    {
        if (!OperatingSystem.IsLinux() || HasRoom()) { return; }
        var waited = Stopwatch.StartNew();
        using var next = Next(waited);
        while (!HasRoom() && waited.Elapsed < s_patience) { Wait(s_look); }
        Wait(s_settle);
    }

    private static FileStream? Next(Stopwatch waited)
    {
        while (waited.Elapsed < s_patience)
        {
            try { return new(s_door, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None); }
            catch (IOException) { Wait(s_look); }
        }
        return null;
    }

    private static bool HasRoom() => Running() <= TasksPerProcessor * Environment.ProcessorCount;

    /// <summary>Tasks of the whole machine that run or wait for a processor, this one included.</summary>
    private static int Running()
    {
        const string Name = "procs_running ";
        string line = File.ReadLines("/proc/stat").First(l => l.StartsWith(Name, StringComparison.Ordinal));
        return int.Parse(line[Name.Length..], CultureInfo.InvariantCulture);
    }

    private static void Wait(TimeSpan time)
    {
        using var never = new ManualResetEventSlim();
        never.Wait(time);
    }
}

/// <summary>
/// Each test of an assembly begins when the machine has room for it. For assemblies whose tests start programs; tests that only
/// reckon are short, and would spend their time at the door.
/// </summary>
[AttributeUsage(AttributeTargets.Assembly)]
internal sealed class AwaitsRoomAttribute : Attribute, ITestAction
{
    public ActionTargets Targets => ActionTargets.Test;

    public void BeforeTest(ITest test) => Room.Await();

    public void AfterTest(ITest test) { }
}
