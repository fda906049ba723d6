using System.Text;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Plans;

/// <summary>What a player is told first: which rig it owns, for as long as it lives.</summary>
/// <param name="RigPath">For messages and for paths relative to the rig file.</param>
/// <param name="RigText">The rig file as it was when the parent read it.</param>
/// <param name="LinkUrl">Overrides the rig's link; null: the rig's own.</param>
/// <param name="UnixAtZeroNs">The parent's anchor of the time of day: its stamps (keys, prompts) and the player's are compared.</param>
public sealed record PlayerOrder(string RigPath, string RigText, string? LinkUrl, long UnixAtZeroNs);

/// <summary>
/// The pipe from the parent to its player: one order, then any number of plans. Its end means that the parent is gone or
/// has no more work; both mean: end tidily and leave.
/// </summary>
public static class PlanPipe
{
    private const uint OrderMark = 0x4F_4C_49_48;
    private const uint PlanMark = 0x4E_4C_49_48;

    public static void Write(Stream pipe, PlayerOrder order)
    {
        using var writer = new BinaryWriter(pipe, Encoding.UTF8, leaveOpen: true);
        writer.Write(OrderMark);
        writer.Write(order.RigPath);
        writer.Write(order.RigText);
        writer.Write(order.LinkUrl ?? "");
        writer.Write(order.UnixAtZeroNs);
    }

    public static PlayerOrder ReadOrder(Stream pipe)
    {
        using var reader = new BinaryReader(pipe, Encoding.UTF8, leaveOpen: true);
        Expect(reader.ReadUInt32(), OrderMark);
        string path = reader.ReadString(), text = reader.ReadString(), url = reader.ReadString();
        return new(path, text, url.Length == 0 ? null : url, reader.ReadInt64());
    }

    public static void Write(Stream pipe, PlayPlan plan)
    {
        using var writer = new BinaryWriter(pipe, Encoding.UTF8, leaveOpen: true);
        writer.Write(PlanMark);
        writer.Write(plan.Folder);
        writer.Write(plan.Rate.MilliHertz);
        writer.Write(plan.Speed ?? 0m);
        writer.Write(plan.SampleCount);
        writer.Write(plan.LeadSamples);
        writer.Write(plan.SamplesPerFrame);
        WriteBytes(writer, plan.Begin);
        WriteBytes(writer, plan.End);
        writer.Write(plan.ListenNs ?? -1);
        WriteBytes(writer, plan.StreamOn);
        WriteBytes(writer, plan.StreamOff);
        writer.Write(plan.NeedsMeasured);
        writer.Write(plan.Expected.Count);
        foreach (var (group, value) in plan.Expected)
        {
            writer.Write(group);
            writer.Write(value);
        }
        writer.Write(plan.CaptureName);
        writer.Write(plan.AskAfter);
        WriteBytes(writer, plan.Frames);
        writer.Write(plan.FrameEnds.Length);
        foreach (int end in plan.FrameEnds) { writer.Write(end); }
        writer.Flush();
    }

    /// <summary>The next plan; null at the end of the pipe between two plans.</summary>
    /// <exception cref="EndOfStreamException">The pipe ended inside a plan.</exception>
    public static PlayPlan? ReadPlan(Stream pipe)
    {
        Span<byte> mark = stackalloc byte[4];
        int got = pipe.ReadAtLeast(mark, 4, throwOnEndOfStream: false);
        if (got == 0) { return null; }
        if (got < 4) { throw new EndOfStreamException(); }
        Expect(BitConverter.ToUInt32(mark), PlanMark);
        using var reader = new BinaryReader(pipe, Encoding.UTF8, leaveOpen: true);
        string folder = reader.ReadString();
        var rate = new SampleRate(reader.ReadInt64());
        decimal speed = reader.ReadDecimal();
        int samples = reader.ReadInt32(), lead = reader.ReadInt32(), perFrame = reader.ReadInt32();
        byte[] begin = ReadBytes(reader), end = ReadBytes(reader);
        long listenNs = reader.ReadInt64();
        byte[] streamOn = ReadBytes(reader), streamOff = ReadBytes(reader);
        bool needsMeasured = reader.ReadBoolean();
        var expected = new Dictionary<string, string>(StringComparer.Ordinal);
        for (int left = reader.ReadInt32(); left > 0; left--) { expected[reader.ReadString()] = reader.ReadString(); }
        string captureName = reader.ReadString(), askAfter = reader.ReadString();
        byte[] frames = ReadBytes(reader);
        var ends = new int[reader.ReadInt32()];
        for (int i = 0; i < ends.Length; i++) { ends[i] = reader.ReadInt32(); }
        return new PlayPlan
        {
            Folder = folder,
            Rate = rate,
            Speed = speed == 0 ? null : speed,
            SampleCount = samples,
            LeadSamples = lead,
            SamplesPerFrame = perFrame,
            Begin = begin,
            End = end,
            ListenNs = listenNs < 0 ? null : listenNs,
            StreamOn = streamOn,
            StreamOff = streamOff,
            NeedsMeasured = needsMeasured,
            Expected = expected,
            CaptureName = captureName,
            AskAfter = askAfter,
            Frames = frames,
            FrameEnds = ends,
        };
    }

    private static void WriteBytes(BinaryWriter writer, byte[] bytes)
    {
        writer.Write(bytes.Length);
        writer.Write(bytes);
    }

    private static byte[] ReadBytes(BinaryReader reader)
    {
        var bytes = new byte[reader.ReadInt32()];
        reader.BaseStream.ReadExactly(bytes);
        return bytes;
    }

    private static void Expect(uint found, uint expected)
    {
        if (found != expected) { throw new InvalidDataException($"the pipe from the parent is out of step: {found:X8} for {expected:X8}"); }
    }
}
