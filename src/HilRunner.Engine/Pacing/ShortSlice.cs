using System.Runtime.InteropServices;

namespace HilRunner.Engine.Pacing;

/// <summary>
/// Asks the kernel for the shortest slice of processor time for the calling thread, as any user may: a thread that wants little at a
/// time is let in sooner when it wakes while others compute (sched_setattr(2), sched_runtime of SCHED_OTHER, heeded from Linux 6.12
/// on). It neither raises the priority nor takes anything from others but the order. Where the kernel knows no such wish, nothing
/// changes.
/// </summary>
internal static partial class ShortSlice
{
    /// <summary>The least that the kernel takes.</summary>
    private const ulong ShortestSliceNs = 100_000;
    private const uint PolicyOther = 0;
    private const uint PolicyBatch = 3;

    public static void Ask()
    {
        var (set, get) = RuntimeInformation.ProcessArchitecture switch
        {
            Architecture.X64 => ((nint)314, (nint)315),
            Architecture.Arm64 or Architecture.RiscV64 or Architecture.LoongArch64 => ((nint)274, (nint)275),
            _ => ((nint)0, (nint)0),
        };
        if (set == 0) { return; }
        SchedulingAttributes now = default;
        if (GetAttributes(get, 0, ref now, (uint)Marshal.SizeOf<SchedulingAttributes>(), 0) != 0) { return; }
        // Whoever started the player in a real-time class, or with another niceness, meant it.
        if (now.Policy is not (PolicyOther or PolicyBatch)) { return; }
        now.RuntimeNs = ShortestSliceNs;
        _ = SetAttributes(set, 0, in now, 0);
    }

    /// <summary>struct sched_attr, its first version.</summary>
    [StructLayout(LayoutKind.Sequential)]
    private struct SchedulingAttributes
    {
        public uint Size;
        public uint Policy;
        public ulong Flags;
        public int Niceness;
        public uint Priority;
        public ulong RuntimeNs;
        public ulong DeadlineNs;
        public ulong PeriodNs;
    }

    [LibraryImport("libc", EntryPoint = "syscall")]
    private static partial nint GetAttributes(nint number, nint thread, ref SchedulingAttributes attributes, nuint size, nuint flags);

    [LibraryImport("libc", EntryPoint = "syscall")]
    private static partial nint SetAttributes(nint number, nint thread, in SchedulingAttributes attributes, nuint flags);
}
