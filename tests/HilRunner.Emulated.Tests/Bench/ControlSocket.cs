using System.Net.Sockets;
using System.Text;
using System.Text.Json;
using HilRunner.Core.Time;

namespace HilRunner.Emulated.Tests.Bench;

/// <summary>The emulator's JSON control socket: one command, one answer.</summary>
internal sealed class ControlSocket : IDisposable
{
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(10);
    private readonly Socket _socket = new(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
    private readonly StreamReader _reader;
    private readonly NetworkStream _stream;

    private ControlSocket(string path)
    {
        _socket.Connect(new UnixDomainSocketEndPoint(path));
        _socket.ReceiveTimeout = (int)s_limit.TotalMilliseconds;
        _stream = new(_socket);
        _reader = new(_stream, Encoding.UTF8);
        Next("QMP");
        Execute("qmp_capabilities");
    }

    /// <summary>Connects as soon as the emulator listens; fails the test when it does not.</summary>
    public static ControlSocket Connect(string path, HostClock clock)
    {
        HostTime end = clock.Now + s_limit;
        using var pause = new ManualResetEventSlim();
        while (true)
        {
            try { return new(path); }
            catch (SocketException e) when (clock.Now < end)
            {
                // Not there, or not listening yet: nothing announces it.
                _ = e;
                pause.Wait(5);
            }
        }
    }

    /// <summary>Answers when the emulator has done it.</summary>
    public JsonElement Execute(string command)
    {
        _stream.Write(Encoding.UTF8.GetBytes($"{{\"execute\": \"{command}\"}}\n"));
        return Next("return");
    }

    public void Dispose()
    {
        _reader.Dispose();
        _stream.Dispose();
        _socket.Dispose();
    }

    /// <summary>The next message with this key; events in between are passed over.</summary>
    private JsonElement Next(string key)
    {
        while (_reader.ReadLine() is { } line)
        {
            using var message = JsonDocument.Parse(line);
            if (message.RootElement.TryGetProperty("error", out var error)) { throw new IOException($"the control socket refused: {error}"); }
            if (message.RootElement.TryGetProperty(key, out var answer)) { return answer.Clone(); }
        }
        throw new IOException("the emulator closed its control socket");
    }
}
