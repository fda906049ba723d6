using HilRunner.Core.Links;

namespace HilRunner.Application.Benches;

/// <summary>A link as a person would name it.</summary>
internal static class LinkNames
{
    public static string Of(LinkSpec link) => link switch
    {
        SerialLinkSpec serial => $"serial {serial.Port}, {serial.Baud} baud",
        PtyLinkSpec pty => $"pty {pty.Path}",
        TcpLinkSpec tcp => $"tcp {tcp.Host}:{tcp.Port}",
        ProcessLinkSpec process => $"program {process.Program}",
        BuiltinLinkSpec builtin => $"virtual device ({builtin.Options.Protocol.ToString().ToLowerInvariant()} protocol)",
        _ => link.GetType().Name,
    };
}
